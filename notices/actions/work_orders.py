"""Work orders for the field crew: made with their paper, recorded as done, or called off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time

from django.db import transaction
from django.db.models import Max

from notices.actions.clocks import Day, locked_clock
from notices.actions.water_back import tell_water_is_back
from notices.domain.long_dates import long_date
from notices.domain.shutoffs import (
    ShutoffState,
    WorkOrderKind,
    WorkOrderState,
    why_not_on,
    why_wrong_day,
)
from notices.domain.work_orders import work_sheet
from notices.models import Shutoff, WorkOrder
from notices.queries.shutoffs import (
    services_of_shutoff,
    why_not_off,
    work_brief,
    work_orders_of,
)
from notices.rendering.work_orders import drawn_work_order
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Question, ServiceConnection
from scheduling.closed_days import closed_days


@dataclass(frozen=True, kw_only=True)
class CrewReport:
    """What the crew brought back on its paper."""

    on: date
    at: time | None
    by: str
    reading: str
    words: str


def held_shutoff(shutoff: Shutoff) -> Shutoff:
    """Return the shutoff as it is now, locked; call it in a transaction that holds the clock."""
    rows = Shutoff.objects.select_for_update(of=("self",)).select_related("program", "premises")
    return rows.get(pk=shutoff.pk)


def order_work_off(shutoff: Shutoff, *, for_on: date, today: date, hand: Hand) -> list[WorkOrder]:
    """Make a work order for each service to be shut on a day; Refused where it must not be.

    A second time the same day it makes none. Never on a closed day or the eve of one, but for an
    emergency, whose work orders are made as it is signed.
    """
    with transaction.atomic():
        locked_clock(shutoff.program)
        held = held_shutoff(shutoff)
        if held.state != ShutoffState.SIGNED:
            raise Refused(f"The crew is sent while the order is signed; this one is {held.state}.")
        if not held.is_emergency:
            closed = closed_days(held.program.state)
            if why := why_not_on(for_on, today=today, holidays=closed):
                raise Refused(why)
        for reason in why_not_off(held, today=for_on):
            raise Refused(reason)
        return make_work_orders(
            held, services=services_of_shutoff(held), kind=WorkOrderKind.OFF, for_on=for_on,
            hand=hand,
        )  # fmt: skip


def make_work_orders(
    shutoff: Shutoff,
    *,
    services: list[ServiceConnection],
    kind: WorkOrderKind,
    for_on: date,
    hand: Hand,
) -> list[WorkOrder]:
    """Make those that are not there yet, with their papers; the clock is held."""
    there = {one.connection_id for one in work_orders_of(shutoff, kind=kind)}
    made = []
    for service in services:
        if service.pk in there:
            continue
        rows = WorkOrder.objects.filter(program=shutoff.program)
        number = (rows.aggregate(n=Max("number"))["n"] or 0) + 1
        sheet = work_sheet(
            work_brief(shutoff, service=service, kind=kind, number=number, for_on=for_on)
        )
        drawn = drawn_work_order(sheet)
        made.append(
            WorkOrder.objects.create(
                program=shutoff.program,
                shutoff=shutoff,
                connection=service,
                number=number,
                kind=kind.value,
                for_on=for_on,
                ordered_at=hand.at,
                ordered_by=hand.by,
                content=sheet.to_plain(),
                pdf=drawn.pdf,
                sha256=drawn.sha256,
            )
        )
    for one in made:
        told = {"state": one.state, "for_on": one.for_on.isoformat(), "kind": one.kind}
        _changed(one, hand=hand, before={}, after=told)
    return made


def record_done(work: WorkOrder, *, report: CrewReport, day: Day, hand: Hand) -> None:
    """Record that the crew has done it; Refused for what is done or called off already.

    What was done is kept as it was. Water shut off on a day on which it should not have been is
    asked about on Today: somebody may have to bring it back.
    """
    told = False
    with transaction.atomic():
        locked_clock(work.program)
        shutoff = held_shutoff(work.shutoff)
        _refuse_day(work, report=report, today=day.on)
        changed = WorkOrder.objects.filter(pk=work.pk, state=WorkOrderState.WAITING.value).update(
            state=WorkOrderState.DONE.value,
            done_on=report.on,
            done_time=report.at,
            done_by=report.by[:150],
            reading=report.reading[:60],
            words=report.words[:500],
            recorded_at=hand.at,
            recorded_by=hand.by,
        )
        if not changed:
            raise Refused("It does not wait any more: it was recorded, or called off.")
        _changed(work, hand=hand, before={"state": "waiting"}, after=_told(report))
        _ask_about_the_day(work, on=report.on, today=day.on)
        told = _moved_on(shutoff, kind=WorkOrderKind(work.kind), on=report.on, hand=hand)
    if told:
        tell_water_is_back(Shutoff.objects.get(pk=shutoff.pk), day=day)


def call_off_work(work: WorkOrder, *, why: str, hand: Hand) -> None:
    """Call a waiting work order off, so that another day can be named; the clock is held."""
    changed = WorkOrder.objects.filter(pk=work.pk, state=WorkOrderState.WAITING.value).update(
        state=WorkOrderState.CALLED_OFF.value,
        called_off_at=hand.at,
        called_off_by=hand.by,
        called_off_why=why[:500],
    )
    if changed:
        after = {"state": "called off", "why": why[:500]}
        _changed(work, hand=hand, before={"state": "waiting"}, after=after)


def _refuse_day(work: WorkOrder, *, report: CrewReport, today: date) -> None:
    if report.on > today:
        raise Refused(f"{long_date(report.on)} has not come yet. Name the day it was done.")
    if report.on < work.shutoff.signed_on:
        raise Refused(
            f"The order was signed on {long_date(work.shutoff.signed_on)}; "
            f"{long_date(report.on)} lies before it. Is the day right?"
        )
    if not report.by.strip():
        raise Refused("Say who did it: the name on the crew's paper.")


def _ask_about_the_day(work: WorkOrder, *, on: date, today: date) -> None:
    shutoff = work.shutoff
    if WorkOrderKind(work.kind) is not WorkOrderKind.OFF or shutoff.is_emergency:
        return
    holidays = closed_days(work.program.state)
    if not (wrong := why_wrong_day(on, named=work.for_on, holidays=holidays)):
        return
    Question.objects.get_or_create(
        program=work.program,
        key=f"water off:{work.pk}",
        defaults={
            "kind": "water off",
            "premises_id": shutoff.premises_id,
            "text": (
                f"Water was shut off at {shutoff.premises} on {long_date(on)}, {wrong} "
                f"(work order {work.number}). If the day is a slip of the pen, say so here; if it "
                "is right, decide whether the water comes back, and tell the customer."
            )[:500],
            "detail": {"shutoff": shutoff.pk, "work_order": work.pk, "done_on": on.isoformat()},
            "raised_on": today,
        },
    )


def _moved_on(shutoff: Shutoff, *, kind: WorkOrderKind, on: date, hand: Hand) -> bool:
    """Move the shutoff on; True when water is back everywhere and somebody must be told."""
    if kind is WorkOrderKind.OFF:
        Shutoff.objects.filter(pk=shutoff.pk, state=ShutoffState.SIGNED.value).update(
            state=ShutoffState.OFF.value
        )
        return False
    waiting = [
        one
        for one in work_orders_of(shutoff, kind=kind)
        if one.state == WorkOrderState.WAITING.value
    ]
    if waiting or shutoff.state != ShutoffState.PROVED:
        return False
    Shutoff.objects.filter(pk=shutoff.pk).update(
        state=ShutoffState.BACK.value,
        ended_on=on,
        ended_by=hand.by,
        ended_why=f"Water is back: {shutoff.proof}.",
    )
    return True


def _told(report: CrewReport) -> dict[str, str]:
    return {
        "state": "done",
        "done_on": report.on.isoformat(),
        "done_by": report.by[:150],
        "reading": report.reading[:60],
    }


def _changed(work: WorkOrder, *, hand: Hand, before: dict[str, str], after: dict[str, str]) -> None:
    record_change(
        hand=hand,
        what="work order",
        subject_id=work.pk,
        label=str(work),
        before=before,
        after=after,
        program=work.program,
    )
