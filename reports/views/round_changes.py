"""Rounds changed by a dispatcher: the best times for one more visit, a stop moved or kept, undo."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from registry.access import Verb, visible_premises
from registry.models import Premises
from reports.models import PlanChange, Stop
from reports.queries.company_jobs import own_firms
from reports.queries.premises_found import premises_matching
from reports.queries.round_pages import rounds_seen
from reports.rounds.changing import (
    DAYS_AHEAD,
    Changed,
    Changer,
    ChangeRefusedError,
    call_off,
    mark_stop,
    move_stop,
    promise_slot,
    slots_for,
    undo_change,
)
from reports.rounds.week import Horizon
from reports.rounds.why_not import why_no_slot
from scheduling.views.desk import Desk, Seat, at_desk

SEATS = (Seat.OFFICE, Seat.FIRM)
MOVABLE_DAYS = 21


def quarter_after(moment: datetime) -> datetime:
    """The next full quarter of an hour: times offered on the telephone hold for a while."""
    whole = moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)
    return whole + timedelta(minutes=15)


def may_change(desk: Desk) -> bool:
    """Whether a person changes rounds here: the office that plans, a company's dispatcher."""
    if desk.seat is Seat.OFFICE:
        return Verb.PLAN in desk.verbs
    return own_firms(desk.person).exists()


def changer_of(desk: Desk, *, first_day: date, days: int) -> Changer:
    """The person's hand on the program's days; a company's dispatcher sees only its own."""
    firms = own_firms(desk.person) if desk.seat is Seat.FIRM else ()
    horizon = Horizon(first_day, days, desk.zone, desk.today)
    return Changer(desk.program, horizon, desk.hand(), tuple(firms))


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_slots(request: HttpRequest, desk: Desk) -> HttpResponse:
    """One more visit, while on the telephone: who, then the best times, then a promise."""
    must_change(desk)
    is_urgent = "urgent" in request.GET or "urgent" in request.POST
    tomorrow = desk.today + timedelta(days=1)
    changer = changer_of(desk, first_day=tomorrow, days=DAYS_AHEAD)
    if is_urgent:
        changer = replace(
            changer_of(desk, first_day=desk.today, days=DAYS_AHEAD + 1), now=quarter_after(desk.now)
        )
    fault = ""
    premises = _premises(request, desk)
    if request.method == "POST" and premises is not None:
        try:
            return _to_round(desk, _take(request, changer, premises), premises=premises)
        except ChangeRefusedError as refusal:
            fault = str(refusal)
    search = request.GET.get("q", "")[:100].replace("\x00", "").strip()
    seen = visible_premises(desk.person).filter(program=desk.program)
    found = premises_matching(seen, search) if search and premises is None else []
    context: dict[str, object] = {
        "desk": desk,
        "search": search,
        "found": found,
        "premises": premises,
        "fault": fault,
        "days_ahead": DAYS_AHEAD,
        "is_urgent": is_urgent,
    }
    if premises is not None:
        context |= _offered(changer, premises, desk=desk)
    return render(request, "reports/round_slots.html", context, status=409 if fault else 200)


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_stop(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One planned visit: moved, promised, pinned, freed, called off."""
    must_change(desk)
    stop = _stop(desk, pk)
    first = min(desk.today, stop.arrives_at.astimezone(desk.zone).date())
    changer = changer_of(desk, first_day=first, days=MOVABLE_DAYS)
    fault = ""
    if request.method == "POST":
        try:
            done = _act(request, changer, stop)
            messages.success(request, f"{done.row.words}.")
            return _to_round(desk, done, premises=stop.premises)
        except ChangeRefusedError as refusal:
            fault = str(refusal)
    planned = changer.read()
    days = [
        (f"{one.tester}/{one.day.isoformat()}", planned.week.days[one.key].tester, one.day,
         len(planned.draft.orders.get(one.key, [])))
        for one in planned.week.problem.days if one.day >= desk.today
    ]  # fmt: skip
    here = f"{stop.round.tester_id}/{stop.round.on.isoformat()}" if stop.round else ""
    context = {
        "desk": desk,
        "stop": stop,
        "arrives": stop.arrives_at.astimezone(desk.zone),
        "leaves": stop.leaves_at.astimezone(desk.zone),
        "days": days,
        "here": here,
        "fault": fault,
    }
    return render(request, "reports/round_stop.html", context, status=409 if fault else 200)


@require_POST
@at_desk(seats=SEATS)
def round_undo(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take a change by hand back, or say why that cannot be."""
    must_change(desk)
    change = get_object_or_404(PlanChange, pk=pk, program=desk.program)
    mine = Stop.objects.filter(pk__in=[*change.after], round__in=rounds_seen(desk))
    if desk.seat is Seat.FIRM and mine.count() != len(change.after):
        raise Http404("No such change of your rounds.")
    try:
        undo_change(changer_of(desk, first_day=desk.today, days=1), change)
    except ChangeRefusedError as refusal:
        context = {"desk": desk, "change": change, "fault": str(refusal)}
        return render(request, "reports/round_undo.html", context, status=409)
    return redirect("rounds", desk.program.code)


def must_change(desk: Desk) -> None:
    """Raise PermissionDenied for whom :func:`may_change` says no."""
    if not may_change(desk):
        raise PermissionDenied


def _premises(request: HttpRequest, desk: Desk) -> Premises | None:
    sent = request.POST.get("premises", "") or request.GET.get("premises", "")
    if not sent.isdigit() or len(sent) > 18:
        return None
    seen = visible_premises(desk.person).filter(program=desk.program)
    return get_object_or_404(seen, pk=int(sent))


def _take(request: HttpRequest, changer: Changer, premises: Premises) -> Changed:
    tester, on, arrive = [*request.POST.get("slot", "").split("/"), "", ""][:3]
    if not (tester.isdigit() and arrive.isdigit()):
        raise ChangeRefusedError("Choose one of the times.")
    try:
        day = date.fromisoformat(on)
    except ValueError as error:
        raise ChangeRefusedError("Choose one of the times.") from error
    return promise_slot(changer, premises, tester_id=int(tester), on=day, arrive=int(arrive))


def _act(request: HttpRequest, changer: Changer, stop: Stop) -> Changed:
    sent = request.POST
    revision = sent.get("revision", "")
    seen = int(revision) if revision.isdigit() and len(revision) < 10 else -1
    act = sent.get("act", "")
    if act in {"promise", "pin", "free"}:
        return mark_stop(changer, stop, act=act, seen=seen)
    if act == "call off":
        return call_off(changer, stop, reason=sent.get("reason", "")[:300], seen=seen)
    tester, _, on = sent.get("day", "").partition("/")
    place = sent.get("place", "").strip()
    try:
        day = date.fromisoformat(on)
        number, tester_id = int(place) if place else None, int(tester)
    except ValueError as error:
        raise ChangeRefusedError("Choose a day and a place in it.") from error
    return move_stop(changer, stop, tester_id=tester_id, on=day, place=number, seen=seen)


def _stop(desk: Desk, pk: int) -> Stop:
    seen = Stop.objects.filter(
        program=desk.program, round__in=rounds_seen(desk), cancelled_at__isnull=True
    )
    return get_object_or_404(seen.select_related("premises", "round__tester"), pk=pk)


def _to_round(desk: Desk, changed: Changed, *, premises: Premises) -> HttpResponse:
    """To the day the visit is on now; to the board where it is on none any more."""
    stop = Stop.objects.filter(
        pk__in=[*changed.row.after], premises=premises, cancelled_at__isnull=True
    ).first()
    if stop is None or stop.round_id is None:
        return redirect("rounds", desk.program.code)
    return redirect("round", desk.program.code, stop.round_id)


def _offered(changer: Changer, premises: Premises, *, desk: Desk) -> dict[str, object]:
    slots, planned = slots_for(changer, premises)
    moment_of = planned.horizon.axis.moment_of
    already = planned.stops.get(str(premises.pk))
    work = planned.week.work.get(str(premises.pk), ())
    return {
        "already": already,
        "already_at": already.arrives_at.astimezone(desk.zone) if already else None,
        "work": [one.its_assembly for one in work],
        "slots": [
            {
                "value": f"{one.day.tester}/{one.day.day.isoformat()}/{one.arrive}",
                "tester": planned.week.days[one.day.key].tester,
                "beside": planned.week.days[one.second.day.key].tester if one.second else None,
                "on": one.day.day,
                "arrives": moment_of(one.arrive),
                "leaves": moment_of(one.leave),
                "extra": one.extra_minutes,
                "later": len(one.later),
            }
            for one in slots
        ],
        "why_not": "" if slots or already else why_no_slot(planned, premises),
    }
