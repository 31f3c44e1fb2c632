"""Appointments: visits promised all at once, customers told, and the calls that are to be made."""

from __future__ import annotations

from collections.abc import Collection
from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from notices.actions.clocks import Day
from registry.access import Verb
from reports.actions.appointments import Tally, call_made, tell_customers
from reports.models import AppointmentTold, Round, Stop
from reports.queries.appointments import calls_due, to_tell
from reports.queries.company_jobs import own_firms
from reports.queries.jobs import whom_to_ring
from reports.queries.round_pages import newest_plan, rounds_seen
from reports.rounds.changing import ChangeRefusedError
from reports.rounds.promising import promise_all
from reports.views.round_changes import MOVABLE_DAYS, SEATS, changer_of, may_change
from scheduling.views.desk import Desk, Seat, at_desk

MOST_SHOWN = 300
TOLD_SHOWN = 50


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def appointments(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Who is to be told what; a POST says it to those chosen."""
    if not may_change(desk):
        raise PermissionDenied
    if request.method == "POST":
        if not _may_write(desk):
            raise PermissionDenied
        keys = request.POST.getlist("say")
        day = Day(program=desk.program, on=desk.today, at=desk.now)
        tally = tell_customers(desk.program, keys=keys, hand=desk.hand(), day=day, now=desk.now)
        _tell(request, tally, chosen=len(keys))
        return redirect("appointments", desk.program.code)
    firms = _own_firms(desk)
    waiting = to_tell(desk.program, now=desk.now, firms=firms)
    told = AppointmentTold.objects.filter(program=desk.program, starts_at__gte=desk.now)
    if firms is not None:
        told = told.filter(stop__round__firm__in=firms)
    calls = list(calls_due(desk.program, firms=firms, now=desk.now)[:MOST_SHOWN])
    ring = whom_to_ring([one.premises for one in calls])
    context = {
        "desk": desk,
        "waiting": waiting[:MOST_SHOWN],
        "more": max(len(waiting) - MOST_SHOWN, 0),
        "calls": [(one, ring[one.premises_id]) for one in calls],
        "told": list(told.select_related("premises", "letter").order_by("-at", "-pk")[:TOLD_SHOWN]),
        "may_write": _may_write(desk),
    }
    return render(request, "reports/appointments.html", context)


@require_POST
@at_desk(seats=SEATS)
def appointment_called(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep what a call came to."""
    if not may_change(desk):
        raise PermissionDenied
    row = get_object_or_404(calls_due(desk.program, firms=_own_firms(desk)), pk=pk)
    reached = request.POST.get("reached") == "yes"
    call_made(row, words=request.POST.get("words", ""), was_reached=reached, hand=desk.hand())
    said = "was reached" if reached else "was not reached; the call stays on the list"
    messages.success(request, f"{row.premises} {said}.")
    return redirect(f"{reverse('appointments', args=[desk.program.code])}#calls")


@require_POST
@at_desk(seats=SEATS)
def round_promise(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Promise all visits of one tester's day as they are planned."""
    row = get_object_or_404(rounds_seen(desk).select_related("tester"), pk=pk)
    who = row.tester.name or row.tester.certificate
    words = f"all visits of {who} on {row.on:%A, %B} {row.on.day} promised"
    return _promise(request, desk, rounds=[row], words=words)


@require_POST
@at_desk(seats=SEATS)
def rounds_promise(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Promise all visits of the plan from tomorrow on."""
    plan = newest_plan(desk.program)
    ahead = rounds_seen(desk).filter(plan=plan, on__gt=desk.today) if plan else Round.objects.none()
    return _promise(request, desk, rounds=list(ahead), words="all visits of the plan promised")


def _promise(
    request: HttpRequest, desk: Desk, *, rounds: Collection[Round], words: str
) -> HttpResponse:
    if not may_change(desk):
        raise PermissionDenied
    stops = list(Stop.objects.filter(round__in=rounds, arrives_at__gt=desk.now))
    first = min((one.on for one in rounds), default=desk.today)
    last = max((one.on for one in rounds), default=desk.today)
    days = max(MOVABLE_DAYS, (last - first + timedelta(days=1)).days)
    changer = changer_of(desk, first_day=min(first, desk.today), days=days)
    try:
        changed = promise_all(changer, stops, words=words)
    except ChangeRefusedError as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, f"{_sentence(changed.row.words)} Tell the customers next.")
        for one in changed.broken[:5]:
            messages.warning(request, one)
    return redirect("appointments", desk.program.code)


def _sentence(words: str) -> str:
    """A change in words as a sentence; names keep their capitals."""
    return f"{words[:1].upper()}{words[1:]}."


def _may_write(desk: Desk) -> bool:
    """The program's letters are its office's to send; a company tells its customers by phone."""
    return desk.seat is Seat.OFFICE and Verb.PLAN in desk.verbs


def _own_firms(desk: Desk) -> list[int] | None:
    if desk.seat is Seat.OFFICE:
        return None
    return list(own_firms(desk.person).values_list("pk", flat=True))


def _tell(request: HttpRequest, tally: Tally, *, chosen: int) -> None:
    if not chosen:
        messages.warning(request, "Nobody was chosen: tick whom to tell.")
        return
    done = tally.written + tally.calls + len(tally.refused)
    if not done:
        messages.warning(request, "Nothing was said: it was told already, or has changed since.")
    if tally.written:
        messages.success(request, f"{tally.written:,} written to.")
    if tally.calls:
        messages.success(request, f"{tally.calls:,} to call; they stand under Calls to make.")
    for why in tally.refused:
        messages.warning(request, why)
