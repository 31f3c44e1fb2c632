"""What is kept of an answer: the try in the server's words, and what becomes of the delivery."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from notices.actions.clocks import Day
from notices.delivery.paper_instead import to_paper
from notices.delivery.smtp import Answer
from notices.delivery.stops import stop_address
from notices.domain.deliveries import (
    MOST_UNKNOWN,
    DeliveryState,
    TryOutcome,
    next_try_at,
)
from notices.models import Delivery, DeliveryTry
from registry.models import Program, Question

HELD = "e-mail that may have left"
FAULT = "e-mail that does not go out"


def keep_answer(row: Delivery, *, answer: Answer, day: Day) -> DeliveryState:
    """Keep an answer, and return what the delivery is now. Call it holding the clock.

    An answer that comes after the claim has ended is kept too: the message did leave.
    """
    _log(row, outcome=answer.outcome, at=day.at, code=answer.code, words=answer.words)
    if answer.outcome is TryOutcome.TAKEN:
        detail = "The mail server took it."
        _end(row, state=DeliveryState.LEFT, detail=detail, left_on=day.on, left_at=day.at)
        return DeliveryState.LEFT
    if answer.outcome is TryOutcome.REFUSED:
        if answer.is_bad_address:
            stop_address(row.letter.program, address=row.address, words=answer.words, at=day.at)
        return _paper(row, words=answer.words, day=day)
    if answer.outcome is TryOutcome.UNKNOWN:
        row.unknown_tries += 1
        Delivery.objects.filter(pk=row.pk).update(unknown_tries=row.unknown_tries)
        if row.unknown_tries >= MOST_UNKNOWN:
            hold(row, day=day, why="Three tries ended without an answer; it may have left.")
            return DeliveryState.HELD
    again = next_try_at(tries=row.tries, first_at=row.first_tried_at or day.at, now=day.at)
    if again is None:
        return _paper(row, words=f"No server took it in three days. {answer.words}", day=day)
    _end(row, state=DeliveryState.WAITING, detail="", not_before=again)
    return DeliveryState.WAITING


def keep_unknown(row: Delivery, *, words: str, at: datetime) -> None:
    """Keep that a try ended without an answer: its worker died, or the line went silent."""
    _log(row, outcome=TryOutcome.UNKNOWN, at=at, code="", words=words)
    row.unknown_tries += 1
    Delivery.objects.filter(pk=row.pk).update(unknown_tries=row.unknown_tries)


def hold(row: Delivery, *, day: Day, why: str) -> None:
    """Leave it to a person whether it left: nothing is tried again by itself."""
    _end(row, state=DeliveryState.HELD, detail=why)
    Question.objects.get_or_create(
        program=day.program,
        key=f"mail:{row.pk}",
        defaults={
            "kind": HELD,
            "text": f"Letter {row.letter.number} to {row.address}: {why} Decide on its page.",
            "detail": {"letter": row.letter_id, "delivery": row.pk},
            "raised_on": day.on,
        },
    )


@dataclass(frozen=True, slots=True)
class MailFault:
    """One question of a program while its e-mail does not go out at all."""

    program: Program

    @transaction.atomic
    def tell(self, fault: str, *, today: date, at: datetime) -> None:
        """Ask, or say that it goes again. A person reads the server's own words."""
        key = "mail server"
        known = Question.objects.filter(program=self.program, key=key)
        if not fault:
            known.filter(settled_at__isnull=True).update(
                settled_at=at, settled_by="the outbox", answer="It goes out again."
            )
            return
        text = f"No e-mail goes out. The mail server says: {fault}"[:500]
        if not known.update(text=text, settled_at=None, settled_by="", answer=""):
            Question.objects.create(
                program=self.program, key=key, kind=FAULT, text=text, raised_on=today
            )


def _paper(row: Delivery, *, words: str, day: Day) -> DeliveryState:
    to_paper(row, why=words, day=day)
    return DeliveryState.FAILED


def _log(row: Delivery, *, outcome: TryOutcome, at: datetime, code: str, words: str) -> None:
    DeliveryTry.objects.create(
        delivery=row, at=at, outcome=outcome, code=code[:20], words=words[:500]
    )


def _end(row: Delivery, *, state: DeliveryState, detail: str, **more: object) -> None:
    row.state = state
    Delivery.objects.filter(pk=row.pk).update(
        state=state, detail=detail, claim="", claimed_until=None, **more
    )
