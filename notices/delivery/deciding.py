"""A person says what became of an e-mail that may or may not have left."""

from __future__ import annotations

from enum import StrEnum

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.delivery.paper_instead import to_paper
from notices.delivery.settling import settle
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import LetterState
from notices.models import Delivery
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Question


class Decision(StrEnum):
    """What a person may say of a held e-mail."""

    LEFT = "left"  # the recipient has it
    AGAIN = "again"  # under the same Message-ID
    PAPER = "paper"


def decide(delivery_id: int, *, decision: Decision, day: Day, hand: Hand) -> None:
    """Act on what a person found out; Refused where nothing waits for that."""
    with transaction.atomic():
        locked_clock(day.program)
        row = (
            Delivery.objects.select_related("letter")
            .select_for_update(of=("self",))
            .filter(letter__program=day.program, pk=delivery_id, state=DeliveryState.HELD)
            .first()
        )
        if row is None:
            raise Refused("Nothing of this delivery waits for a decision.")
        if decision is Decision.AGAIN and row.letter.state != LetterState.LEAVING:
            raise Refused("The letter was withdrawn; it is not sent again.")
        if decision is Decision.PAPER:
            to_paper(row, why=f"{hand.by} chose paper.", day=day)
        elif decision is Decision.AGAIN:
            _again(row)
        else:
            _left(row, day=day, hand=hand)
        Question.objects.filter(program=day.program, key=f"mail:{row.pk}").update(
            settled_at=hand.at, settled_by=hand.by, answer=decision
        )
        record_change(
            hand=hand,
            what="delivery",
            subject_id=row.pk,
            label=f"{row.letter.number} by {row.channel}",
            before={"state": str(DeliveryState.HELD)},
            after={"state": str(decision)},
            program=day.program,
        )


def _again(row: Delivery) -> None:
    Delivery.objects.filter(pk=row.pk).update(
        state=DeliveryState.WAITING,
        unknown_tries=0,
        first_tried_at=None,
        not_before=None,
        detail="",
    )


def _left(row: Delivery, *, day: Day, hand: Hand) -> None:
    Delivery.objects.filter(pk=row.pk).update(
        state=DeliveryState.LEFT,
        left_on=day.on,
        left_at=day.at,
        detail=f"It had left, {hand.by} found.",
    )
    settle([row.letter_id], day=day)
