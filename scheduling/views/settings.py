"""The settings of a program: seen by the office, changed by an administrator."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from registry.access import Verb
from registry.models import Program
from scheduling.actions.by_hand.rows import keep
from scheduling.forms.settings import SettingsForm
from scheduling.views.desk import Desk, at_desk

_PLAIN = ("name", "zone", "state", "date_order", "go_live_on", "letters_a_day")


def _initial(program: Program) -> dict[str, Any]:
    head = program.letterhead
    return {
        **{name: getattr(program, name) for name in _PLAIN},
        "head": head.get("name", ""),
        "line": ", ".join(head.get("lines") or []),
        **{name: head.get(name, "") for name in ("phone", "hours", "email", "web", "attestation")},
        "papers_by_two": bool(head.get("papers_by_two")),
    }


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def settings(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The form; a change is kept with who and when."""
    form = SettingsForm(request.POST or None, initial=_initial(desk.program))
    if request.method == "POST" and form.is_valid():
        values: dict[str, Any] = {name: form.cleaned_data[name] for name in _PLAIN}
        values["letterhead"] = form.letterhead(desk.program.letterhead)
        with transaction.atomic():
            keep(desk.program, values=values, hand=desk.hand(), program=desk.program)
        messages.success(request, "The settings are kept.")
        return redirect("settings", code=desk.program.code)
    context = {"desk": desk, "form": form, "people": _people(desk.program)}
    return render(request, "scheduling/settings.html", context)


def _people(program: Program) -> list[Any]:
    found = program.memberships.select_related("user", "party").order_by("role", "user__username")
    return list(found)
