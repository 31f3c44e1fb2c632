"""The letter that says water is back, once for a shutoff; a person releases it."""

from __future__ import annotations

from notices.actions.clocks import Day
from notices.actions.extra_letters import Wanted, write_letter
from notices.domain.order_letters import OrderBrief, OrderLetter, water_back
from notices.domain.shutoffs import Proof, WorkOrderKind
from notices.models import Letter, Shutoff
from notices.queries.briefs import sender_of
from notices.queries.place_items import place_words
from notices.queries.responsible import recipient_keys, recipients
from notices.queries.shutoff_rules import in_force
from notices.queries.shutoffs import work_orders_of
from scheduling.domain.rules import Topic


def tell_water_is_back(shutoff: Shutoff, *, day: Day) -> Letter:
    """Write to whom the program writes to there that water is on again, since when, and why."""
    off = work_orders_of(shutoff, kind=WorkOrderKind.OFF)
    back = work_orders_of(shutoff, kind=WorkOrderKind.ON)
    rule = in_force(shutoff.program, topic=Topic.RESTORATION, on=day.on, premises=shutoff.premises)
    brief = OrderBrief(
        place=place_words(shutoff.premises),
        sender=sender_of(shutoff.program),
        services=tuple(one.connection.kind or "service" for one in back),
        order=shutoff.order.number if shutoff.order else "",
        citation=rule.citation if rule else "",
        off_on=min(one.done_on for one in off if one.done_on),
        back_on=max(one.done_on for one in back if one.done_on),
        proof=Proof(shutoff.proof),
        proof_words=shutoff.proof_words,
    )
    key = recipient_keys([shutoff.premises_id], today=day.on)[shutoff.premises_id]
    return write_letter(
        Wanted(
            kind=OrderLetter.WATER_BACK,
            key=f"water back:{shutoff.pk}",
            recipient=recipients([key])[key],
            text_in=lambda words: water_back(brief, words=words),
        ),
        day=day,
    )
