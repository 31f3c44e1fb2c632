"""A survey of a premises recorded, and what happened to a service or was decided about it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from registry.access import Verb, visible_premises
from registry.domain.kinds import Hazard
from registry.models import Premises, ServiceConnection
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.surveys import (
    PlaceFact,
    Survey,
    keep_place_fact,
    keep_survey,
)
from scheduling.domain.facts import FactKind
from scheduling.forms.surveys import PremisesFactForm, ServiceFactForm, SurveyForm
from scheduling.views.desk import Desk, at_desk
from scheduling.views.premises import refuse, seen_premises


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def survey_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Record a survey: the hazard found; what is owed of the premises follows at once."""
    site = seen_premises(desk, pk)
    form = SurveyForm(request.POST or None, initial={"on": desk.today})
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        survey = Survey(
            on=told["on"],
            hazard=Hazard(told["hazard"]),
            finding=told["finding"],
            asks_for=told["asks_for"],
        )
        try:
            keep_survey(premises=site, survey=survey, today=desk.today, hand=desk.hand())
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, "The survey is kept, and the dates are worked out again.")
            return redirect("premises", code=desk.program.code, pk=site.pk)
    return _form(request, desk, site, {"form": form, "title": "Record a survey"})


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def service_fact(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Record that a service was disconnected, or what was decided about what it owes."""
    seen = visible_premises(desk.person).filter(program=desk.program)
    found = ServiceConnection.objects.filter(pk=pk, premises__in=seen)
    one = found.select_related("premises__program").first()
    if one is None:
        raise Http404("No such connection.")
    name = one.kind or "service of unknown kind"
    form = ServiceFactForm(request.POST or None, initial={"on": desk.today}, today=desk.today)
    return _fact(request, desk, of=one, form=form, title=f"Record a fact of the {name} connection")


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def premises_fact(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Record what was decided about the surveys of a premises."""
    site = seen_premises(desk, pk)
    form = PremisesFactForm(request.POST or None, initial={"on": desk.today}, today=desk.today)
    return _fact(request, desk, of=site, form=form, title="Decide about its survey")


def _fact(
    request: HttpRequest,
    desk: Desk,
    *,
    of: ServiceConnection | Premises,
    form: ServiceFactForm,
    title: str,
) -> HttpResponse:
    site = of if isinstance(of, Premises) else of.premises
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        fact = PlaceFact(
            kind=FactKind(told["kind"]),
            on=told["on"],
            until=told["until"],
            approved_by=told["approved_by"],
        )
        hand = desk.hand(told["reason"])
        try:
            keep_place_fact(of=of, told=fact, today=desk.today, hand=hand)
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, "The fact is kept, and the dates are worked out again.")
            return redirect("premises", code=desk.program.code, pk=site.pk)
    return _form(request, desk, site, {"form": form, "title": title})


def _form(request: HttpRequest, desk: Desk, site: Premises, more: dict[str, Any]) -> HttpResponse:
    context = {
        "desk": desk,
        "place": str(site),
        "back": reverse("premises", args=[desk.program.code, site.pk]),
        "act": "Record it",
        **more,
    }
    return render(request, "scheduling/form.html", context)
