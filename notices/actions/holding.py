"""Asks a person: about what must wait for one, and about what leaves later than the law wants."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from notices.actions.clocks import Day
from notices.domain.owing import OwedNotice
from registry.models import Question

KIND = "held notice"
LATE = "late notice"


def ask_about_held(held: Sequence[OwedNotice], *, day: Day) -> None:
    """Ask about what is held today, and settle what is held no longer."""
    keys = {f"held:{owed.obligation_id}:{owed.rung}": owed for owed in held}
    known = {
        question.key: question
        for question in Question.objects.filter(program=day.program, kind=KIND)
    }
    for key, owed in keys.items():
        _ask(key, owed=owed, known=known.get(key), day=day)
    over = [q.pk for q in known.values() if q.key not in keys and q.settled_at is None]
    Question.objects.filter(pk__in=over).update(
        settled_at=day.at, settled_by="run of the day", answer="No longer held."
    )


def _ask(key: str, *, owed: OwedNotice, known: Question | None, day: Day) -> None:
    if known is None:
        Question.objects.get_or_create(
            program=day.program,
            key=key,
            defaults=_told(kind=KIND, text=owed.hold, owed=owed, day=day),
        )
    elif known.text != owed.hold:
        Question.objects.filter(pk=known.pk).update(
            text=owed.hold, settled_at=None, settled_by="", answer=""
        )


def tell_of_late_notices(owed: Iterable[OwedNotice], *, day: Day) -> None:
    """Tell a person, once each, what leaves later than the law wants and goes at once."""
    for notice in owed:
        if not notice.warning:
            continue
        Question.objects.get_or_create(
            program=day.program,
            key=f"late:{notice.obligation_id}:{notice.rung}:{notice.occurrence}"[:200],
            defaults=_told(kind=LATE, text=notice.warning, owed=notice, day=day),
        )


def _told(*, kind: str, text: str, owed: OwedNotice, day: Day) -> dict[str, Any]:
    return {
        "kind": kind,
        "assembly_id": owed.assembly_id,
        "premises_id": owed.premises_id,
        "text": text,
        "detail": {"rung": owed.rung, "obligation": owed.obligation_id},
        "raised_on": day.on,
    }
