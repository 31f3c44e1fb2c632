"""The second means: a letter that came back refused or unclaimed leaves again another way.

The letter had left and its clock runs on; only the rung after it waits until this has left.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from notices.actions.clocks import Day
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import LetterState
from notices.models import Delivery, Letter, LetterNotice

MAY_GO = Q(letter__state=LetterState.LEAVING) | Q(
    letter__state=LetterState.LEFT, came_from__isnull=False
)
"""Waiting deliveries that may leave: of letters leaving, and second means of letters that left."""


def second_means(came_back: Delivery, *, channel: str, why: str, day: Day) -> Delivery:
    """Make the second delivery of a letter, once for a channel; in a trial it leaves at once.

    Call it holding the program's clock.
    """
    is_gone = day.program.is_trial
    made, _ = Delivery.objects.get_or_create(
        letter_id=came_back.letter_id,
        channel=channel,
        defaults={
            "came_from": came_back,
            "is_required": False,
            "state": DeliveryState.LEFT if is_gone else DeliveryState.WAITING,
            "left_on": day.on if is_gone else None,
            "left_at": day.at if is_gone else None,
            "detail": f"Second means: {why}"[:500],
        },
    )
    return made


def drop_second_means(letter_ids: Sequence[int]) -> int:
    """Withdraw second deliveries whose letters ask for nothing any more; return how many."""
    waiting = Delivery.objects.filter(
        letter__in=letter_ids,
        letter__state=LetterState.LEFT,
        state=DeliveryState.WAITING,
        came_from__isnull=False,
    )
    letters = set(waiting.values_list("letter_id", flat=True))
    if not letters:
        return 0
    carried = LetterNotice.objects.filter(letter__in=letters, is_live=True)
    asked = carried.filter(
        notice__obligation__closed_on__isnull=True, notice__sent_in_error_on__isnull=True
    )
    needed = set(asked.values_list("letter_id", flat=True))
    return waiting.filter(letter__in=letters - needed).update(
        state=DeliveryState.WITHDRAWN, detail="Nothing is owed any more; it did not go again."
    )


def waiting_second_means(day: Day) -> list[int]:
    """Return the letters of a program whose second means has not left."""
    found = Letter.objects.filter(
        program=day.program,
        state=LetterState.LEFT,
        deliveries__state=DeliveryState.WAITING,
        deliveries__came_from__isnull=False,
    )
    return list(found.distinct().values_list("pk", flat=True))
