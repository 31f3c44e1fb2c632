"""Orders that must not be prepared yet: each asks one question of a person."""

from __future__ import annotations

from collections.abc import Sequence

from notices.actions.clocks import Day
from notices.domain.owing import OwedNotice
from registry.models import Question

KIND = "held notice"


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
            defaults={
                "kind": KIND,
                "assembly_id": owed.assembly_id,
                "premises_id": owed.premises_id,
                "text": owed.hold,
                "detail": {"rung": owed.rung, "obligation": owed.obligation_id},
                "raised_on": day.on,
            },
        )
    elif known.text != owed.hold:
        Question.objects.filter(pk=known.pk).update(
            text=owed.hold, settled_at=None, settled_by="", answer=""
        )
