"""How a program plans, and how each tester's days are: hours, lunch, skills, most visits."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from registry.models import Firm, Tester
from reports.actions.planning_ways import keep_planning_rules, keep_working_days
from reports.domain.day_lists import days_said
from reports.models import PlanningRules
from reports.planning_forms import LunchForm, RulesForm, TesterDaysForm
from reports.queries.company_jobs import own_firms
from reports.rounds.crews import acceptance_of
from reports.rounds.past_minutes import visit_times
from reports.views.round_changes import SEATS, may_change
from scheduling.domain.rounds.staying import USUAL_MINUTES
from scheduling.forms.plain import PlainForm
from scheduling.views.desk import Desk, Seat, at_desk
from scheduling.views.premises import hours_words


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def round_rules(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What may be planned, minutes learned, ZIP codes as places, what a move must save."""
    row = PlanningRules.objects.filter(program=desk.program).first()
    initial = {
        "due_is_assigned": "no" if row and row.due_is_assigned is False else "yes",
        "learns_minutes": row.learns_minutes if row else True,
        "places_by_zip": row.places_by_zip if row else False,
        "holidays_off": row.holidays_off if row else True,
        "stay_minutes": row.stay_minutes if row else USUAL_MINUTES,
        "parts_from_in": row.parts_from_in if row else None,
    }
    form = RulesForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        keep_planning_rules(program=desk.program, values=form.cleaned_data, hand=desk.hand())
        messages.success(request, "It is kept: the next plan follows it.")
        return redirect("round-rules", code=desk.program.code)
    times = visit_times(desk.program, today=desk.today, learns=True)
    context = {"desk": desk, "form": form, "minutes_from": times.source}
    return render(request, "reports/planning/rules.html", context)


@require_GET
@at_desk(seats=SEATS)
def round_testers(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The testers whose days a person may change, by company."""
    testers = _testers(desk)
    context = {
        "desk": desk,
        "testers": [(one, hours_words(one.hours)) for one in testers],
        "firms": sorted({one.firm for one in testers}, key=lambda firm: firm.name),
    }
    return render(request, "reports/planning/testers.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_tester(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One tester's days."""
    one = next((tester for tester in _testers(desk) if tester.pk == pk), None)
    if one is None:
        raise Http404("No such tester.")
    lunch = ("lunch_minutes", "lunch_from", "lunch_to")
    names = ("depot_lat", "depot_lon", "most_visits", "van_places", *lunch)
    initial = {
        **{name: getattr(one, name) for name in names},
        "hours": hours_words(one.hours),
        "days_off": days_said(map(date.fromisoformat, one.days_off)),
        "skills": one.skills,
    }
    form = TesterDaysForm(request.POST or None, initial=initial)
    return _kept(request, desk, form, whose=one)


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_firm(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The lunch of a company's testers, where they have none of their own."""
    firm = next((one.firm for one in _testers(desk) if one.firm_id == pk), None)
    if firm is None:
        raise Http404("No such testing company.")
    names = ("lunch_minutes", "lunch_from", "lunch_to")
    form = LunchForm(request.POST or None, initial={name: getattr(firm, name) for name in names})
    return _kept(request, desk, form, whose=firm)


def _testers(desk: Desk) -> list[Tester]:
    """Those the office plans with, or those of a dispatcher's own companies."""
    if not may_change(desk):
        raise PermissionDenied
    if desk.seat is Seat.OFFICE:
        return list(acceptance_of(desk.program).testers)
    firms = own_firms(desk.person)
    return list(Tester.objects.filter(firm__in=firms).select_related("firm"))


def _kept(
    request: HttpRequest, desk: Desk, form: PlainForm, *, whose: Tester | Firm
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        keep_working_days(whose=whose, values=_values(form), program=desk.program, hand=desk.hand())
        messages.success(request, "It is kept: the next plan follows it.")
        return redirect("round-testers", code=desk.program.code)
    context = {
        "desk": desk,
        "form": form,
        "title": f"How {whose} works" if isinstance(whose, Tester) else f"Lunch at {whose}",
        "back": reverse("round-testers", args=[desk.program.code]),
    }
    return render(request, "scheduling/form.html", context)


def _values(form: PlainForm) -> dict[str, Any]:
    return {name: form.cleaned_data[name] for name in form.fields}
