"""A fact withdrawn with a reason, whether it is of an assembly, a service or a premises."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from registry.access import Verb, visible_assemblies, visible_premises
from scheduling.actions.by_hand.assemblies import take_back_fact
from scheduling.forms.facts import WithdrawForm
from scheduling.models import Fact
from scheduling.views.desk import Desk, at_desk


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def fact_withdraw(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Withdraw a fact with a reason: it stays on the page, struck through, and decides nothing."""
    one = _seen(desk, pk)
    home = _home_of(one, desk)
    if one.withdrawn_at:
        messages.error(request, "That fact is withdrawn already.")
        return redirect(home)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        take_back_fact(fact=one, today=desk.today, hand=desk.hand(form.cleaned_data["reason"]))
        messages.success(request, "The fact is withdrawn, and the dates are worked out again.")
        return redirect(home)
    context = {
        "desk": desk,
        "form": form,
        "title": f"Withdraw: {one.kind}, {one.on:%B} {one.on.day}, {one.on.year}",
        "place": _place_of(one),
        "back": home,
        "act": "Withdraw it",
    }
    return render(request, "scheduling/form.html", context)


def _seen(desk: Desk, pk: int) -> Fact:
    assemblies = visible_assemblies(desk.person).filter(program=desk.program)
    sites = visible_premises(desk.person).filter(program=desk.program)
    of_what_is_seen = (
        Q(assembly__in=assemblies.values("pk"))
        | Q(connection__premises__in=sites.values("pk"))
        | Q(premises__in=sites.values("pk"))
    )
    found = Fact.objects.filter(of_what_is_seen, pk=pk, program=desk.program)
    about = ("assembly__premises", "connection__premises", "premises", "program")
    one = found.select_related(*about).first()
    if one is None:
        raise Http404("No such fact.")
    return one


def _home_of(fact: Fact, desk: Desk) -> str:
    if fact.assembly_id is not None:
        return reverse("assembly", args=[desk.program.code, fact.assembly_id])
    site = fact.premises_id or (fact.connection.premises_id if fact.connection else 0)
    return reverse("premises-owed", args=[desk.program.code, site])


def _place_of(fact: Fact) -> str:
    if fact.assembly is not None:
        return f"{fact.assembly.serial}, {fact.assembly.premises}"
    return str(fact.connection or fact.premises)
