"""Withdraws what the ladder no longer asks for, as long as it has not left."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.delivery.second_means import drop_second_means, waiting_second_means
from notices.domain.deliveries import DeliveryState
from notices.domain.holds import HoldCause
from notices.domain.kinds import UNSENT_STATES, LetterState
from notices.models import Delivery, Letter, LetterNotice, Notice
from notices.queries.addressees import addressees
from notices.queries.owed import Position, positions
from registry.batches import in_batches


def withdraw_stale(day: Day) -> int:
    """Withdraw every waiting notice whose cause is gone; return how many notices that were."""
    waiting = Notice.objects.filter(
        program=day.program, left_on__isnull=True, withdrawn_on__isnull=True
    )
    ids = waiting.order_by("obligation_id").values_list("obligation_id", flat=True).distinct()
    count = 0
    for batch in in_batches([key for key in ids if key is not None]):
        with transaction.atomic():
            locked_clock(day.program)
            count += drop_stale(positions(batch, today=day.on, lock=True), day=day)
    with transaction.atomic():
        locked_clock(day.program)
        drop_second_means(waiting_second_means(day))
    return count


def drop_stale(found: Sequence[Position], *, day: Day) -> int:
    """Withdraw stale notices of these positions and the unsent letters that carry them.

    A letter is also withdrawn, its notices kept, when somebody else is now bound:
    it is composed anew. Call it inside a transaction that holds the clock.
    """
    reasons = _stale_notices(found, day=day)
    for notice_id, reason in reasons.items():
        Notice.objects.filter(pk=notice_id).update(withdrawn_on=day.on, withdrawn_reason=reason)
    letters = _letters_to_withdraw(found, stale=reasons, day=day)
    for letter_id, reason in letters.items():
        Letter.objects.filter(pk=letter_id, state__in=UNSENT_STATES).update(
            state=LetterState.WITHDRAWN, ended_on=day.on, ended_reason=reason
        )
    LetterNotice.objects.filter(letter__in=letters).update(is_live=False)
    Delivery.objects.filter(letter__in=letters, state=DeliveryState.WAITING).update(
        state=DeliveryState.WITHDRAWN
    )
    return len(reasons)


def _stale_notices(found: Sequence[Position], *, day: Day) -> dict[int, str]:
    stale: dict[int, str] = {}
    for place in found:
        gone = list(place.others_pending)
        same = place.pending
        if same is not None and same.withdrawn_on is None and not place.is_owed(today=day.on):
            gone.append(same)
        stale |= {notice.pk: _why(place) for notice in gone}
    return stale


def _why(place: Position) -> str:
    if place.row.closed_how == "met":
        return "A passing test was recorded before it left."
    if place.row.closed_on is not None:
        return f"The obligation was closed before it left ({place.row.closed_how})."
    last = place.step.reasons[-1] if place.step is not None and place.step.reasons else None
    if last is not None and last.rule in set(HoldCause):
        return f"It waits: {last.arithmetic}."[:500]
    return "The ladder no longer asks for it."


def _letters_to_withdraw(
    found: Sequence[Position], *, stale: dict[int, str], day: Day
) -> dict[int, str]:
    ids = [place.row.pk for place in found]
    carried = LetterNotice.objects.filter(
        notice__obligation__in=ids, is_live=True, letter__state__in=UNSENT_STATES
    ).values_list("letter_id", "notice_id", "recipient_key")
    asked = {p.pending.pk: p.asks for p in found if p.pending is not None}
    bound = addressees(asked.values(), program=day.program, today=day.on)
    letters: dict[int, str] = {}
    for letter_id, notice_id, recipient_key in carried:
        if notice_id in stale:
            letters.setdefault(letter_id, stale[notice_id])
        elif notice_id in asked and recipient_key not in bound[asked[notice_id]]:
            letters[letter_id] = "Another party is now responsible; composed anew."
    return letters
