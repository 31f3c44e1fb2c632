"""A shutoff goes on: proof brings the water back, or it is called off before water went."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from notices.actions.clocks import locked_clock
from notices.actions.work_orders import call_off_work, held_shutoff, make_work_orders
from notices.domain.shutoffs import (
    Proof,
    ShutoffState,
    WorkOrderKind,
    WorkOrderState,
    why_not_proof,
)
from notices.models import Shutoff, WorkOrder
from notices.queries.shutoff_rules import in_force, of_order
from notices.queries.shutoffs import is_met, work_orders_of
from registry.access import Verb, may
from registry.changes import Hand, record_change
from registry.console import Refused
from scheduling.domain.rules import Topic


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What a person says is there, so that water comes back."""

    proof: Proof
    on: date
    words: str


def bring_back(
    shutoff: Shutoff, *, shown: Shown, user: AbstractBaseUser, today: date, hand: Hand
) -> list[WorkOrder]:
    """Record the proof and order the water back at every service that is off.

    Refused where the rulebook asks for more. What has not been shut off yet is called off.
    """
    with transaction.atomic():
        locked_clock(shutoff.program)
        held = held_shutoff(shutoff)
        if held.state != ShutoffState.OFF:
            raise Refused(f"Water comes back where it is off; this shutoff is {held.state}.")
        why = why_not_proof(
            shown.proof,
            accepted=accepted_proof(held, today=today),
            all_met=is_met(held),
            is_emergency=held.is_emergency,
            may_sign=may(user, Verb.SIGN, program=held.program),
            words=shown.words,
        )
        if why:
            raise Refused(why)
        if shown.on > today and shown.proof is not Proof.BOOKED:
            raise Refused("That day has not come yet. Name the day it was.")
        if shown.on < today and shown.proof is Proof.BOOKED:
            raise Refused("The booked day is past. Name the day the test is booked for.")
        _proved(held, shown=shown, hand=hand)
        off = work_orders_of(held, kind=WorkOrderKind.OFF)
        for one in off:
            if one.state == WorkOrderState.WAITING.value:
                call_off_work(one, why="Water is to come back.", hand=hand)
        services = [one.connection for one in off if one.state == WorkOrderState.DONE.value]
        held.refresh_from_db()
        return make_work_orders(
            held, services=services, kind=WorkOrderKind.ON, for_on=today, hand=hand
        )


def accepted_proof(shutoff: Shutoff, *, today: date) -> tuple[str, ...]:
    """Return what the rulebook takes as enough for water to come back."""
    if shutoff.order is not None:
        rule = of_order(shutoff.order, topic=Topic.RESTORATION)
    else:
        rule = in_force(
            shutoff.program, topic=Topic.RESTORATION, on=today, premises=shutoff.premises
        )
    return rule.by if rule is not None and rule.by else (Proof.PASSED.value,)


def call_off(shutoff: Shutoff, *, why: str, today: date, hand: Hand) -> None:
    """Call a signed shutoff off before water went; Refused where it is off already."""
    if not why.strip():
        raise Refused("Say why it is called off; the reason is kept.")
    with transaction.atomic():
        locked_clock(shutoff.program)
        held = held_shutoff(shutoff)
        if held.state != ShutoffState.SIGNED:
            raise Refused(f"It cannot be called off any more: it is {held.state}.")
        for one in work_orders_of(held, kind=WorkOrderKind.OFF):
            call_off_work(one, why=why, hand=hand)
        Shutoff.objects.filter(pk=held.pk).update(
            state=ShutoffState.CALLED_OFF.value,
            ended_on=today,
            ended_by=hand.by,
            ended_why=why[:500],
        )
        _changed(held, hand=hand, after={"state": ShutoffState.CALLED_OFF.value, "why": why[:500]})


def name_another_day(work: WorkOrder, *, why: str, hand: Hand) -> None:
    """Call one waiting work order off; the shutoff stands, and another day can be named."""
    if not why.strip():
        raise Refused("Say why; the reason is kept.")
    with transaction.atomic():
        locked_clock(work.program)
        if work.kind != WorkOrderKind.OFF:
            raise Refused("A work order that brings water back is not called off.")
        call_off_work(work, why=why, hand=hand)


def _proved(shutoff: Shutoff, *, shown: Shown, hand: Hand) -> None:
    Shutoff.objects.filter(pk=shutoff.pk).update(
        state=ShutoffState.PROVED.value,
        proof=shown.proof.value,
        proof_on=shown.on,
        proof_words=shown.words.strip()[:500],
        proved_by=hand.by,
        proved_at=hand.at,
    )
    after = {
        "state": ShutoffState.PROVED.value,
        "proof": shown.proof.value,
        "proof_on": shown.on.isoformat(),
    }
    _changed(shutoff, hand=hand, after=after)


def _changed(shutoff: Shutoff, *, hand: Hand, after: dict[str, str]) -> None:
    record_change(
        hand=hand,
        what="shutoff",
        subject_id=shutoff.pk,
        label=str(shutoff),
        before={"state": shutoff.state},
        after=after,
        program=shutoff.program,
    )
