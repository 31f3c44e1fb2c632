"""What a person must do about orders: sign, send the crew, bring water back, tell who is bound."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet

from notices.domain.kinds import LetterState
from notices.domain.shutoffs import ShutoffState, WorkOrderState
from notices.models import Letter, LetterAbout, Shutoff, WorkOrder
from registry.models import Program
from reports.queries.needs import Need
from scheduling.models import Obligation

_STILL = Q(closed_on__isnull=True) | Q(closed_how="superseded")
"""What took another's place may be open: the page of the shutoff looks."""


def order_needs(program: Program) -> Iterator[Need]:
    """Lines about shutoffs, gravest first; what counts nothing is not listed."""
    yield from _notices_to_go(program)
    yield from _met(program)
    yield from _to_sign(program)
    yield from _to_send(program)
    yield from _with_the_crew(program)


def _notices_to_go(program: Program) -> Iterator[Need]:
    """Notices after an emergency that have not left, with the first of their last days."""
    rows = LetterAbout.objects.filter(program=program, key__startswith="emergency:").exclude(
        letter__state__in=[LetterState.LEFT, LetterState.WITHDRAWN]
    )
    keys = list(rows.values_list("key", flat=True))
    if not keys:
        return
    mine = Shutoff.objects.filter(pk__in=[int(key.partition(":")[2]) for key in keys])
    found = mine.aggregate(by=Min("notice_by"), oldest=Min("signed_on"))
    by = found["by"]
    yield Need(
        count=len(keys),
        what="Notice after an emergency has not left"
        if len(keys) == 1
        else "Notices after an emergency have not left",
        detail=f"It must leave by {by:%B} {by.day}, {by.year}." if by else "It must leave at once.",
        since=found["oldest"],
        act="Let it go",
        page="letters",
        query="?kind=emergency-notice",
    )


def _met(program: Program) -> Iterator[Need]:
    """Water off, or a crew about to go, though what was asked for is there."""
    open_ones = Obligation.objects.filter(_STILL, notices__carried__letter=OuterRef("order"))
    rows = Shutoff.objects.filter(
        program=program,
        order__isnull=False,
        state__in=[ShutoffState.OFF.value, ShutoffState.SIGNED.value],
    ).filter(~Exists(open_ones))
    found = _counted(rows)
    if found["n"]:
        yield Need(
            count=found["n"],
            what="Shutoff has lost its cause" if found["n"] == 1 else "Shutoffs lost their cause",
            detail="What was asked for is there: bring the water back, or call the crew off.",
            since=found["oldest"],
            act="See which",
            page="orders",
        )


def _to_sign(program: Program) -> Iterator[Need]:
    rows = Letter.objects.filter(program=program, is_order=True, state=LetterState.COMPOSED)
    found = rows.aggregate(n=Count("pk"), oldest=Min("composed_on"), half=Count("signature"))
    if not found["n"]:
        return
    one = found["n"] == 1
    half = (
        "One waits for a second person."
        if found["half"] == 1
        else (f"{found['half']} wait for a second person." if found["half"] else "")
    )
    yield Need(
        count=found["n"],
        what="Shutoff order is prepared" if one else "Shutoff orders are prepared",
        detail=f"None leaves without a signature. {half}".strip(),
        since=found["oldest"],
        act="Read the evidence",
        page="orders",
    )


def _to_send(program: Program) -> Iterator[Need]:
    waiting = WorkOrder.objects.filter(shutoff=OuterRef("pk"), state=WorkOrderState.WAITING.value)
    rows = Shutoff.objects.filter(program=program, state=ShutoffState.SIGNED.value)
    found = _counted(rows.filter(~Exists(waiting)))
    if found["n"]:
        yield Need(
            count=found["n"],
            what="Signed order waits for a day" if found["n"] == 1 else "Signed orders wait",
            detail="Name the day the crew goes; no closed day, nor the eve of one.",
            since=found["oldest"],
            act="Name it",
            page="orders",
        )


def _with_the_crew(program: Program) -> Iterator[Need]:
    rows = WorkOrder.objects.filter(program=program, state=WorkOrderState.WAITING.value)
    found = rows.aggregate(n=Count("pk"), oldest=Min("for_on"))
    if found["n"]:
        yield Need(
            count=found["n"],
            what="Work order is with the crew" if found["n"] == 1 else "Work orders are out",
            detail="Record what the crew brings back, or name another day.",
            since=found["oldest"],
            act="Record it",
            page="orders",
        )


def _counted(rows: QuerySet[Shutoff]) -> dict[str, Any]:
    return rows.aggregate(n=Count("pk"), oldest=Min("signed_on"))
