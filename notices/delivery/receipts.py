"""A person records the day a letter was delivered: a rung that counts from it goes on."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.delivery.settling import set_next_days
from notices.domain.deliveries import DeliveryState
from notices.models import Delivery, LetterNotice
from registry.changes import Hand, record_change
from registry.console import Refused


def record_delivered(row: Delivery, *, on: date, day: Day, hand: Hand) -> None:
    """Keep that a delivery which left was handed over on a day; Refused for any other day.

    Said again with another day, the newer holds; both stand in the change history.
    """
    with transaction.atomic():
        locked_clock(day.program)
        held = Delivery.objects.select_for_update().get(pk=row.pk)
        if held.state != DeliveryState.LEFT or held.left_on is None:
            raise Refused("It has not left yet: say first when it left.")
        if not held.left_on <= on <= day.on:
            raise Refused(
                f"It left on {held.left_on}: it was delivered from that day to today, {day.on}."
            )
        before, held.delivered_on = held.delivered_on, on
        held.save(update_fields=["delivered_on"])
        record_change(
            hand=hand,
            what="delivery",
            subject_id=held.pk,
            label=f"{held.letter.number} by {held.channel}",
            before={"delivered_on": before.isoformat() if before else ""},
            after={"delivered_on": on.isoformat()},
            program=day.program,
        )
        carried = LetterNotice.objects.filter(letter=held.letter_id, is_live=True)
        ids = carried.values_list("notice__obligation_id", flat=True)
        set_next_days([key for key in ids if key is not None], day=day)
