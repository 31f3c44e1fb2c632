"""Writes down what the fire department, or who needs the water, answered about a shutoff."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from notices.actions.clocks import locked_clock
from notices.domain.shutoffs import AnswerKind, AnswerSays
from notices.models import ShutoffAnswer
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Premises


@dataclass(frozen=True, kw_only=True)
class Said:
    """An answer as a person heard it."""

    kind: AnswerKind
    says: AnswerSays
    on: date
    by: str
    words: str
    until: date | None


def record_answer(premises: Premises, *, said: Said, today: date, hand: Hand) -> ShutoffAnswer:
    """Keep the answer; the newest decides. The same one said again is kept once."""
    if not said.by.strip() or not said.words.strip():
        raise Refused("Say who answered, and in which words.")
    if said.on > today:
        raise Refused("That day has not come yet. Name the day of the answer.")
    if said.until is not None and said.until < said.on:
        raise Refused("Its last day lies before the answer itself.")
    with transaction.atomic():
        locked_clock(premises.program)
        told = {
            "premises": premises,
            "kind": said.kind.value,
            "says": said.says.value,
            "said_on": said.on,
            "said_by": said.by.strip()[:200],
            "words": said.words.strip()[:500],
            "until": said.until,
        }
        same = ShutoffAnswer.objects.filter(**told, struck_at__isnull=True).first()
        if same is not None:
            return same
        made = ShutoffAnswer.objects.create(
            **told, program=premises.program, recorded_at=hand.at, recorded_by=hand.by
        )
        record_change(
            hand=hand,
            what="shutoff answer",
            subject_id=made.pk,
            label=f"{made.kind}: {made.says}, {premises}",
            before={},
            after={"says": made.says, "until": said.until.isoformat() if said.until else ""},
            program=premises.program,
        )
        return made


def strike_answer(answer: ShutoffAnswer, *, hand: Hand) -> None:
    """Strike an answer that was written down wrongly; it stays to be read."""
    if not hand.reason.strip():
        raise Refused("Say why it is struck; the reason is kept.")
    with transaction.atomic():
        locked_clock(answer.program)
        changed = ShutoffAnswer.objects.filter(pk=answer.pk, struck_at__isnull=True).update(
            struck_at=hand.at, struck_by=hand.by, struck_why=hand.reason[:500]
        )
        if changed:
            record_change(
                hand=hand,
                what="shutoff answer",
                subject_id=answer.pk,
                label=f"{answer.kind}: {answer.says}",
                before={"struck": ""},
                after={"struck": hand.reason[:500]},
                program=answer.program,
            )
