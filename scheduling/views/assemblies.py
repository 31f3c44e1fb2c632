"""Forms of an assembly: add, change, record a fact, withdraw one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from registry.access import Verb, visible_assemblies
from registry.domain.sizes import size_text
from registry.models import Assembly, Premises
from scheduling.actions.by_hand.assemblies import add_fact, keep_assembly
from scheduling.actions.by_hand.decisions import decide
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.facts import FactError
from scheduling.domain.decisions import DecisionError
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.domain.matching import SubjectKind
from scheduling.forms.facts import FactForm
from scheduling.forms.registry import AssemblyForm, said_yes_or_no
from scheduling.views.desk import Desk, at_desk
from scheduling.views.premises import refuse, seen_premises
from scheduling.views.rules_in_force import rulebook_of


def _assembly(desk: Desk, pk: int) -> Assembly:
    found = visible_assemblies(desk.person).filter(program=desk.program, pk=pk)
    one = found.select_related("premises", "program").first()
    if one is None:
        raise Http404("No such assembly.")
    return one


def _form(request: HttpRequest, site: Premises, initial: dict[str, Any]) -> AssemblyForm:
    form = AssemblyForm(request.POST or None, initial=initial)
    connections = forms.ModelChoiceField(
        label="Service connection",
        queryset=site.connections.order_by("kind", "name"),
        empty_label=None,
        error_messages={"required": "Choose a connection; add one to the premises first."},
    )
    form.fields["connection"] = connections
    return form


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def assembly_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A new assembly at a premises; its first test is owed from then on."""
    site = seen_premises(desk, pk)
    if rulebook_of(desk) is None:
        messages.error(request, "No rulebook is in force. Put one in force, then add assemblies.")
        return redirect("premises", code=desk.program.code, pk=site.pk)
    if not site.connections.exists():
        messages.error(request, "Add a service connection first; the assembly stands on one.")
        return redirect("part-connection-new", code=desk.program.code, pk=site.pk)
    form = _form(request, site, {"hazard": "not assessed"})
    form.for_something_new()
    if request.method == "POST" and form.is_valid():
        one = _keep(form, desk, site, None)
        if one:
            messages.success(request, f"{one.serial} is on record; what it owes is worked out.")
            return redirect("assembly", code=desk.program.code, pk=one.pk)
    context = {
        "desk": desk,
        "form": form,
        "title": "New assembly",
        "place": str(site),
        "back": reverse("premises", args=[desk.program.code, site.pk]),
    }
    return render(request, "scheduling/form.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def assembly_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Change an assembly; a change of hazard is dated today."""
    one = _assembly(desk, pk)
    names = [name for name in AssemblyForm.base_fields if hasattr(one, name)]
    initial = {**{name: getattr(one, name) for name in names}, "size": size_text(one.size_in)}
    initial["permit_space"] = said_yes_or_no(one.permit_space)
    form = _form(request, one.premises, initial)
    del form.fields["installed_on"]
    if request.method == "POST" and form.is_valid() and _keep(form, desk, one.premises, one):
        messages.success(request, "The change is kept, and its dates are worked out again.")
        return redirect("assembly", code=desk.program.code, pk=one.pk)
    context = {
        "desk": desk,
        "form": form,
        "title": f"Change {one.serial}",
        "place": str(one.premises),
        "back": reverse("assembly", args=[desk.program.code, one.pk]),
    }
    return render(request, "scheduling/form.html", context)


def _keep(form: AssemblyForm, desk: Desk, site: Premises, one: Assembly | None) -> Assembly | None:
    values = dict(form.cleaned_data)
    reason = str(values.pop("reason", ""))
    installed_on = values.pop("installed_on", None)
    values["size_in"] = values.pop("size")
    values.pop("holds", None)
    since = values.pop("since", None)
    try:
        return keep_assembly(
            program=desk.program,
            premises=site,
            assembly=one,
            values=values,
            installed_on=installed_on,
            since=since,
            today=desk.today,
            hand=desk.hand(reason),
        )
    except RefusedChangeError as refusal:
        refuse(form, refusal)
    except FactError as fault:
        form.add_error("installed_on", fault.message)
    return None


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def fact_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Record that something happened on a day; the assembly is replayed at once."""
    one = _assembly(desk, pk)
    form = FactForm(
        request.POST or None, initial={"on": desk.today}, today=desk.today, works=_works(desk)
    )
    if request.method == "POST" and form.is_valid() and _record(form, one, desk):
        messages.success(request, "The fact is kept, and the dates are worked out again.")
        return redirect("assembly", code=desk.program.code, pk=one.pk)
    context = {
        "desk": desk,
        "form": form,
        "title": "Record a fact",
        "place": f"{one.serial}, {one.premises}",
        "back": reverse("assembly", args=[desk.program.code, one.pk]),
        "act": "Record it",
    }
    return render(request, "scheduling/form.html", context)


def _works(desk: Desk) -> list[str]:
    """The kinds of work that the rules in force ask of an assembly; a test where none is."""
    book = rulebook_of(desk)
    kinds = book.kinds_of(SubjectKind.ASSEMBLY) if book else ()
    return [kind.name for kind in kinds] or ["test"]


def _record(form: FactForm, one: Assembly, desk: Desk) -> bool:
    """Keep what the form says; False where it is refused, with the reason on its field."""
    told = form.cleaned_data
    hand = desk.hand(told["reason"])
    try:
        if form.is_decision:
            decide(
                program=desk.program,
                told=form.decision(str(one.pk)),
                chosen_by=f"{one.serial} alone",
                today=desk.today,
                hand=hand,
            )
        else:
            add_fact(
                assembly=one,
                kind=FactKind(told["kind"]),
                on=told["on"],
                work=told.get("work") or "test",
                hindrance=Hindrance(told["hindrance"]) if told["hindrance"] else None,
                words=told["words"],
                today=desk.today,
                hand=hand,
            )
    except FactError as fault:
        form.add_error(fault.field if fault.field in form.fields else None, fault.message)
    except DecisionError as error:
        for field, said in error.faults.items():
            form.add_error(field if field in form.fields else None, said)
    return not form.errors
