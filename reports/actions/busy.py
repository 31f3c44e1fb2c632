"""A tester's busy calendar handed in or taken away; each hand-in replaces the one before whole."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from zoneinfo import ZoneInfo

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Program, Tester
from reports.busy.reading import Busy, read_busy
from reports.models import BusyCalendar, BusySpan

AHEAD = timedelta(days=400)


@dataclass(frozen=True)
class Read:
    """The kept calendar, how many stretches it holds, and what of it could not be read."""

    row: BusyCalendar
    spans: int
    notes: tuple[str, ...]


def read_in(
    tester: Tester, *, name: str, content: bytes, program: Program, today: date, hand: Hand
) -> Read:
    """Keep the busy hours of a calendar file from today on for 400 days; nothing else of it.

    Raises UnreadableCalendarError, and keeps nothing then.
    """
    busy = read_busy(content, zone=ZoneInfo(program.zone), first=today, last=today + AHEAD)
    with transaction.atomic():
        # Two hand-ins of one calendar take turns.
        Tester.objects.select_for_update().get(pk=tester.pk)
        row, _made = BusyCalendar.objects.update_or_create(
            tester=tester,
            name=name,
            defaults={
                "sha256": sha256(content).hexdigest(),
                "read_at": hand.at,
                "by": hand.by,
                "until_on": today + AHEAD,
            },
        )
        row.spans.all().delete()
        BusySpan.objects.bulk_create(_rows(row, busy), batch_size=500)
        _record(row, program=program, hand=hand, spans=len(busy.spans))
    return Read(row, len(busy.spans), busy.notes)


def take_away(row: BusyCalendar, *, program: Program, hand: Hand) -> None:
    """Forget a calendar and its hours."""
    with transaction.atomic():
        _record(row, program=program, hand=hand, spans=0)
        row.delete()


def _rows(row: BusyCalendar, busy: Busy) -> list[BusySpan]:
    return [BusySpan(calendar=row, starts_at=starts, ends_at=ends) for starts, ends in busy.spans]


def _record(row: BusyCalendar, *, program: Program, hand: Hand, spans: int) -> None:
    record_change(
        hand=hand,
        what="busy calendar",
        subject_id=row.pk,
        label=str(row),
        before={},
        after={"stretches": spans},
        program=program,
    )
