"""Planning a week from the page: asked for, told as it gets better, looked at, then kept."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from reports.models import Round
from reports.queries.company_jobs import own_firms
from reports.rounds.broken_rules import SAYS
from reports.rounds.elsewhere import own_part
from reports.rounds.live import rounds_without_a_word
from reports.rounds.planning import Asked, PlanRefusedError
from reports.rounds.proposed import moves_of
from reports.rounds.shares import Companies
from reports.rounds.telling import planned_visits
from reports.views.plan_run import CHANGED, PlanRun, accept, begin, enough, kept_run, proposal
from reports.views.round_changes import SEATS, must_change
from scheduling.domain.rounds import plans
from scheduling.domain.rounds.visits import first_key
from scheduling.forms.planning import PlanForm
from scheduling.solver import Solved
from scheduling.views.desk import Desk, Seat, at_desk

MOVES_SHOWN = 100


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def plan_week(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The form; with a run, how far it is, or the plan it found with what it moves for whom.

    The office plans for every company, a company's dispatcher its own share.
    """
    must_change(desk)
    run = kept_run(desk, str(request.GET.get("run", "")))
    form = PlanForm(
        request.POST if request.method == "POST" else None,
        initial=_initial(desk, run=run, from_now="now" in request.GET),
    )
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data
        token = begin(
            desk,
            first_day=asked["first"],
            days=asked["days"],
            seconds=asked["seconds"],
            seed=0,
            # A day that has begun is planned from now on: what lies before it stays as it is.
            now=desk.now if asked["first"] == desk.today else None,
            companies=_companies(desk),
        )
        return redirect(_at(desk, token))
    is_share = desk.seat is not Seat.OFFICE
    context: dict[str, Any] = {"desk": desk, "form": form, "run": run, "is_share": is_share}
    now = run.wish.now if run is not None else desk.now if "now" in request.GET else None
    if now is not None:
        context |= {"from_now": now.astimezone(desk.zone), "unsaid": _unsaid(desk, now=now)}
    if run is not None and run.answer is not None:
        context |= _found(desk, run)
    return render(request, "reports/plan_week.html", context)


@require_POST
@at_desk(seats=SEATS)
def plan_enough(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Stop the search, and take the best plan so far."""
    must_change(desk)
    run = kept_run(desk, str(request.POST.get("run", "")))
    if run is None:
        messages.error(request, "That plan is no longer kept. Plan again.")
        return redirect("plan-week", code=desk.program.code)
    enough(run)
    return redirect(_at(desk, run.token))


@require_POST
@at_desk(seats=SEATS)
def plan_keep(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Keep the plan that was seen; where something changed since, nothing."""
    must_change(desk)
    run = kept_run(desk, str(request.POST.get("run", "")))
    if run is None:
        messages.error(request, "That plan is no longer kept. Plan again.")
        return redirect("plan-week", code=desk.program.code)
    try:
        planned = accept(desk, run)
    except PlanRefusedError as refusal:
        messages.error(request, str(refusal))
        return redirect(_at(desk, run.token))
    messages.success(request, f"The plan is kept: {planned.row}.")
    return redirect("rounds", code=desk.program.code)


def _companies(desk: Desk) -> Companies:
    """Those whose share is planned: a dispatcher's own; none for the office, which plans all."""
    if desk.seat is Seat.OFFICE:
        return ()
    return tuple(own_firms(desk.person).order_by("pk").values_list("pk", flat=True))


def _unsaid(desk: Desk, *, now: datetime) -> list[tuple[Round, int]]:
    companies = _companies(desk)
    return rounds_without_a_word(desk.program, on=desk.today, now=now, companies=companies)


def _at(desk: Desk, token: str) -> str:
    return f"{reverse('plan-week', args=[desk.program.code])}?{urlencode({'run': token})}"


def _initial(desk: Desk, *, run: PlanRun | None, from_now: bool) -> dict[str, Any]:
    if run is not None:
        wish = run.wish
        return {
            "first": wish.first_day,
            "days": wish.days,
            "seconds": int(wish.effort.seconds or 1),
        }
    if from_now:
        rest_of_week = max(1, 5 - desk.today.weekday())
        return {"first": desk.today, "days": rest_of_week, "seconds": 10}
    monday = desk.today + timedelta(days=7 - desk.today.weekday())
    return {"first": monday, "days": 5, "seconds": 20}


def _found(desk: Desk, run: PlanRun) -> dict[str, Any]:
    found = proposal(desk, run)
    if found is None:
        return {"changed": CHANGED}
    asked, solved = found
    problem = asked.week.problem
    plan = own_part(solved.plan)
    moves = moves_of(plan, asked)
    moved = [one for one in moves if one.was and one.now and not one.is_only_hour]
    hours = [one for one in moves if one.is_only_hour]
    dropped = [one for one in moves if one.was and not one.now]
    broken = [one for one in dropped if one.was_promised]
    return {
        "plan": plan,
        "violations": _broken_rules(solved, asked, told={str(one.premises.pk) for one in broken}),
        "may_keep": solved.is_feasible,
        "visits": len(asked.week.visits),
        "planned": planned_visits(plan),
        "drive": sum(plans.drive_minutes(one, travel=problem.travel) for one in solved.plan.rounds),
        "work": sum(plans.work_minutes(one, problem=problem) for one in plan.rounds),
        # Another day or person first; those that only change their hour are folded away.
        "moved": moved[:MOVES_SHOWN],
        "hours": hours[: max(MOVES_SHOWN - len(moved), 0)],
        "moved_count": len(moved),
        "hour_count": len(hours),
        "more": max(len(moved) + len(hours) - MOVES_SHOWN, 0),
        "broken": broken,
        "dropped": [one for one in dropped if not one.was_promised][:MOVES_SHOWN],
        "dropped_count": sum(1 for one in dropped if not one.was_promised),
        "new_count": sum(1 for one in moves if not one.was),
    }


def _broken_rules(solved: Solved, asked: Asked, *, told: Collection[str]) -> list[str]:
    """What the check found in a dispatcher's words, without the visits told already."""
    found = []
    for one in solved.violations:
        key = first_key(one.visit or "")
        visit = asked.week.visits.get(key)
        if key not in told:
            says = (
                f"{visit.premises}: {SAYS.get(one.rule, one.rule.value)}." if visit else one.words
            )
            found.append(says)
    return found
