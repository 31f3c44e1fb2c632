"""A premises with what is there: its page, and the forms to change it and its people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb, firms_of, visible_assemblies, visible_premises
from registry.domain.kinds import Role
from registry.models import Premises, ServiceConnection
from scheduling.actions.by_hand.assemblies import change_service_from
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.surveys import change_service, follow_premises
from scheduling.actions.by_hand.uses import keep_premises_from
from scheduling.domain.standing import StandingDates, standing_on
from scheduling.forms.plain import PlainForm
from scheduling.forms.registry import (
    ConnectionForm,
    PremisesForm,
    said_yes_or_no,
)
from scheduling.models import AssemblyState
from scheduling.queries.decided import decided_at
from scheduling.queries.duties import duties_at
from scheduling.views.desk import EVERY_SEAT, Desk, Seat, at_desk
from scheduling.views.duty_words import shown

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def seen_premises(desk: Desk, pk: int) -> Premises:
    """A premises of this program that the person may see; Http404 otherwise."""
    found = visible_premises(desk.person).filter(program=desk.program, pk=pk).first()
    if found is None:
        raise Http404("No such premises.")
    return found


@require_GET
@at_desk(seats=EVERY_SEAT)
def premises(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The site: its assemblies and how they stand, its people, what a visit must respect."""
    one = seen_premises(desk, pk)
    assemblies = (
        visible_assemblies(desk.person)
        .filter(premises=one)
        .select_related("connection", "state")
        .order_by("connection__kind", "serial")
    )
    is_office = desk.seat is Seat.OFFICE
    connections = list(one.connections.order_by("kind", "name"))
    context = {
        "desk": desk,
        "premises": one,
        "is_office": is_office,
        "keeps_jobs": desk.may("plan") or _is_dispatched_by(desk, one),
        "assemblies": [(row, *_stands(getattr(row, "state", None), desk)) for row in assemblies],
        "connections": connections,
        "decided": decided_at(one, services=[row.pk for row in connections], today=desk.today)
        if is_office
        else [],
        "roles": list(
            one.roles.filter(until_on__isnull=True).select_related("party").order_by("role")
            if is_office
            else []
        ),
        "hours": hours_words(one.open_hours),
        "duties": [shown(duty, today=desk.today) for duty in duties_at(one, as_of=desk.today)],
        "surveyed": one.assessments.filter(assembly__isnull=True).order_by("assessed_on").last(),
    }
    return render(request, "scheduling/premises.html", context)


def _is_dispatched_by(desk: Desk, premises: Premises) -> bool:
    """Whether the person is dispatcher of a company that the premises is assigned to."""
    if desk.seat is not Seat.FIRM:
        return False
    given = {"assignments__premises": premises, "assignments__ended_on__isnull": True}
    return firms_of(desk.person, roles=(Role.DISPATCHER,)).filter(**given).exists()


def _stands(state: AssemblyState | None, desk: Desk) -> tuple[str, Any]:
    if state is None:
        return "untested", None
    dates = StandingDates(
        removed_on=state.removed_on,
        is_exempt=state.is_exempt,
        idle_since=state.idle_since,
        failed_on=state.failed_on,
        last_passed_on=state.last_passed_on,
        opens_on=state.opens_on,
        due_on=state.due_on,
    )
    return standing_on(dates=dates, day=desk.today).value, state


def hours_words(hours: Mapping[str, Any]) -> str:
    """Open hours as a form takes them: `mon 08:00-12:00; tue 08:00-16:30`."""
    parts = []
    for day in sorted(hours):
        name = _DAYS[int(day)] if day.isdigit() and int(day) < 7 else day
        parts += [f"{name} {opens}-{closes}" for opens, closes in hours[day]]
    return "; ".join(parts)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def premises_new(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A new premises."""
    form = PremisesForm(request.POST or None)
    form.for_something_new()
    if request.method == "POST" and form.is_valid():
        one = _keep(form, desk, None)
        if one:
            messages.success(request, f"{one} is on record. Add its connections and assemblies.")
            return redirect("premises", code=desk.program.code, pk=one.pk)
    context = {
        "desk": desk,
        "form": form,
        "title": "New premises",
        "back": reverse("registry", args=[desk.program.code]),
    }
    return render(request, "scheduling/form.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def premises_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Change a premises."""
    one = seen_premises(desk, pk)
    form = PremisesForm(request.POST or None, initial=_initial(one))
    if request.method == "POST" and form.is_valid() and _keep(form, desk, one):
        messages.success(request, "The change is kept.")
        return redirect("premises", code=desk.program.code, pk=one.pk)
    context = {
        "desk": desk,
        "form": form,
        "title": f"Change {one}",
        "back": reverse("premises", args=[desk.program.code, one.pk]),
    }
    return render(request, "scheduling/form.html", context)


def _initial(one: Premises) -> dict[str, Any]:
    names = [name for name in PremisesForm.base_fields if hasattr(one, name)]
    values = {name: getattr(one, name) for name in names}
    return {
        **values,
        "open_hours": hours_words(one.open_hours),
        "closed_days": ", ".join(one.closed_days),
    }


def _keep(form: PremisesForm, desk: Desk, one: Premises | None) -> Premises | None:
    values = dict(form.cleaned_data)
    since = values.pop("use_since", None)
    try:
        kept = keep_premises_from(
            program=desk.program,
            premises=one,
            values=values,
            use_since=since,
            today=desk.today,
            hand=desk.hand(),
        )
    except RefusedChangeError as refusal:
        refuse(form, refusal)
        return None
    follow_premises(program=desk.program, premises_ids=[kept.pk], today=desk.today)
    return kept


def refuse(form: PlainForm, refusal: RefusedChangeError) -> None:
    """Put a refusal on its field, or on the form where it has none."""
    form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def connection_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A new service connection of a premises."""
    return _connection(request, desk, seen_premises(desk, pk), None)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def connection_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Change a service connection."""
    found = ServiceConnection.objects.filter(
        pk=pk, premises__in=visible_premises(desk.person).filter(program=desk.program)
    )
    one = found.select_related("premises__program").first()
    if one is None:
        raise Http404("No such connection.")
    return _connection(request, desk, one.premises, one)


def _connection(
    request: HttpRequest, desk: Desk, site: Premises, one: ServiceConnection | None
) -> HttpResponse:
    initial = (
        {
            "kind": one.kind,
            "name": one.name,
            "has_chemicals": said_yes_or_no(one.has_chemicals),
            "runs_part_year": said_yes_or_no(one.runs_part_year),
        }
        if one
        else {}
    )
    form = ConnectionForm(request.POST or None, initial=initial)
    if one is None:
        form.for_something_new()
    if request.method == "POST" and form.is_valid():
        try:
            _keep_connection(form, desk, site, one)
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(
                request, "The service connection is kept, and the dates are worked out again."
            )
            return redirect("premises", code=desk.program.code, pk=site.pk)
    context = {
        "desk": desk,
        "form": form,
        "title": "Change the service connection" if one else "New service connection",
        "place": str(site),
        "back": reverse("premises", args=[desk.program.code, site.pk]),
    }
    return render(request, "scheduling/form.html", context)


def _keep_connection(
    form: ConnectionForm, desk: Desk, site: Premises, one: ServiceConnection | None
) -> None:
    values = {name: said for name, said in form.cleaned_data.items() if name != "holds"}
    since = values.pop("since", None)
    if one is not None and since is not None:
        change_service_from(
            premises=site,
            connection=one,
            values=values,
            since=since,
            today=desk.today,
            hand=desk.hand(),
        )
        return
    change_service(premises=site, connection=one, values=values, today=desk.today, hand=desk.hand())
