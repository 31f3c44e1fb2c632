"""Letters mailed after the day they were composed for: kept as they were, and set right.

The bytes stand while the days they name still leave what the rulebook gives, counted from the
day they really left; later rungs count from that day anyway. Where a day has become too short,
the letter is kept as it went and counts for nothing, and the next run composes a corrected one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date

from django.db import transaction

from notices.actions.clocks import Day
from notices.domain.kinds import FINAL_KINDS
from notices.domain.late import MAILED_LATE
from notices.domain.long_dates import long_date
from notices.models import Letter, LetterNotice
from notices.queries.last_words import Ahead, ahead_of
from notices.queries.owed import Position, positions
from notices.queries.pacing import MAILING, mailing_lag
from registry.changes import Hand, record_change
from registry.models import Program
from scheduling.models import Obligation

MOST_MAILING = 20
"""The most days of work from composing to mailing that an office may set."""


def set_mailing_lag(program: Program, *, days: int, hand: Hand) -> None:
    """Keep for how many days of work later letters are composed."""
    with transaction.atomic():
        held = Program.objects.select_for_update().get(pk=program.pk)
        before = mailing_lag(held)
        held.contacts = {**(held.contacts or {}), MAILING: days}
        held.save(update_fields=["contacts"])
        record_change(
            hand=hand,
            what="program",
            subject_id=held.pk,
            label=held.code,
            before={MAILING: before},
            after={MAILING: days},
            program=held,
        )


def set_late_ones_right(letter_ids: Collection[int], *, on: date, day: Day) -> list[int]:
    """Let the letters whose days have become too short count for nothing; return them.

    Call it before they are marked as left, inside the transaction that holds the clock.
    """
    late = list(
        Letter.objects.filter(pk__in=letter_ids, mailing_on__lt=on, is_order=False).order_by("pk")
    )
    places = _places([letter.pk for letter in late], day=day)
    found: list[int] = []
    for letter in late:
        why = _too_short(letter, places=places[letter.pk], on=on)
        if not why:
            continue
        found.append(letter.pk)
        Letter.objects.filter(pk=letter.pk).update(ended_reason=why[:500])
        LetterNotice.objects.filter(letter=letter).update(is_live=False)
        rows = [place.row.pk for place in places[letter.pk]]
        Obligation.objects.filter(pk__in=rows).update(next_action_on=day.on)
    return found


def _places(letter_ids: Sequence[int], *, day: Day) -> dict[int, list[Position]]:
    """Where the obligations of each letter stand, those whose step the letter carries."""
    carried = LetterNotice.objects.filter(letter__in=letter_ids, is_live=True)
    pairs = list(carried.values_list("letter_id", "notice_id", "notice__obligation_id"))
    ids = [obligation for _, _, obligation in pairs if obligation is not None]
    by_notice = {place.pending.pk: place for place in positions(ids, today=day.on) if place.pending}
    found: dict[int, list[Position]] = defaultdict(list)
    for letter_id, notice_id, _ in pairs:
        if notice_id in by_notice:
            found[letter_id].append(by_notice[notice_id])
    return found


def _too_short(letter: Letter, *, places: Sequence[Position], on: date) -> str:
    """Say which day of a letter leaves less than the rulebook gives, or nothing.

    Only days that the law or a right hangs on: those of a last notice, or of a rung the law
    asks for.
    """
    if not places or not _matters(letter, place=places[0]):
        return ""
    printed = ahead_of(places, on=letter.mailing_on)
    lawful = ahead_of(places, on=on)
    for before, now in zip(_days(printed), _days(lawful), strict=True):
        if before is not None and now is not None and before < now:
            return (
                f"{MAILED_LATE}, on {long_date(on)} instead of {long_date(letter.mailing_on)}: it"
                f" names {long_date(before)}, and the rulebook gives until {long_date(now)}. It is"
                " kept as it went and counts for nothing; a corrected letter follows."
            )
    return ""


def _matters(letter: Letter, *, place: Position) -> bool:
    is_required = place.step is not None and place.step.rung.is_required
    return letter.kind in FINAL_KINDS or is_required


def _days(ahead: Ahead) -> tuple[date | None, date | None]:
    """The first lawful day that a letter names, and the last day to ask to be heard."""
    first = next((step.on for step in ahead.steps if not step.is_courtesy), None)
    return first, ahead.last.hearing.by if ahead.last.hearing is not None else None
