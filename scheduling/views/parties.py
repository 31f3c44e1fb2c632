"""The parties behind a premises: who is owner, manager, occupant or customer, and their address."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from registry.access import Verb
from registry.domain.kinds import PartyRole
from registry.models import Party, Premises
from scheduling.actions.by_hand.premises import keep_party, name_party
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.forms.registry import PartyForm, RoleForm
from scheduling.views.desk import Desk, at_desk
from scheduling.views.premises import refuse, seen_premises


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def party_name(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say who is owner, manager, occupant or customer: somebody on record, or somebody new."""
    site = seen_premises(desk, pk)
    role = RoleForm(request.POST or None, initial={"since_on": desk.today, "role": PartyRole.OWNER})
    known = Party.objects.filter(program=desk.program, premises=site).distinct()
    role.fields["party"].queryset = known  # type: ignore[attr-defined]
    who = PartyForm(request.POST or None, prefix="new", use_required_attribute=False)
    if request.method == "POST" and role.is_valid():
        party = role.cleaned_data["party"]
        if party is None and who.is_valid():
            party = _new_party(who, desk)
        if party is not None:
            name_party(
                premises=site,
                role=PartyRole(role.cleaned_data["role"]),
                party=party,
                since_on=role.cleaned_data["since_on"],
                hand=desk.hand(),
            )
            messages.success(request, f"{party} is {role.cleaned_data['role']} of {site}.")
            return redirect("premises", code=desk.program.code, pk=site.pk)
    context = {"desk": desk, "form": role, "who": who, "premises": site}
    return render(request, "scheduling/party_name.html", context)


def _new_party(form: PartyForm, desk: Desk) -> Party | None:
    try:
        return keep_party(
            program=desk.program, party=None, values=form.cleaned_data, hand=desk.hand()
        )
    except RefusedChangeError as refusal:
        refuse(form, refusal)
        return None


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def party_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Change a party's name, mailing address, e-mail or telephone."""
    one = Party.objects.filter(program=desk.program, pk=pk).first()
    if one is None:
        raise Http404("No such party.")
    initial = {name: getattr(one, name) for name in PartyForm.base_fields}
    form = PartyForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            keep_party(program=desk.program, party=one, values=form.cleaned_data, hand=desk.hand())
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, "The change is kept. Letters sent before stay as they were.")
            return redirect(_home_of(one, desk))
    context = {"desk": desk, "form": form, "title": f"Change {one}", "back": _home_of(one, desk)}
    return render(request, "scheduling/form.html", context)


def _home_of(party: Party, desk: Desk) -> str:
    site = Premises.objects.filter(parties=party).order_by("pk").first()
    if site:
        return reverse("premises", args=[desk.program.code, site.pk])
    return reverse("registry", args=[desk.program.code])
