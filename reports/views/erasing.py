"""Erase a person: find them, see what goes and what stays, type the name, say why."""

from __future__ import annotations

from collections import Counter

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from registry.console import Refused
from registry.models import Erasure
from reports.erasing.acting import erase, shown
from reports.erasing.people import (
    KINDS,
    MOST,
    PARTY,
    Person,
    open_matters,
    people_named,
    person_of,
    why_never,
)
from reports.erasing.pictures import pictures_of, unkeyed_scans
from scheduling.forms.plain import PlainForm, text_field
from scheduling.views.desk import Desk, at_desk

STAYS = {
    "party": (
        "Premises with their addresses, assemblies, facts, due dates: they name places.",
        "That a letter was sent: its number, kind, days, channel and the hash of its bytes.",
        "Orders, work orders, fees and field tests: rules ask that they are kept.",
        "Drawn sheets, and scans and photos until you remove them: look at those listed here.",
        "Letters to others that name the person, and messages that were sent already.",
    ),
    "tester": (
        "The number of the certificate with its terms, and the name on reports of tests.",
        "Rounds that were done.",
    ),
    "user": ("Who signed, released or recorded something: the proof of it is that name.",),
}
_SHOWN = 60


class EraseForm(PlainForm):
    """The name typed again, and why."""

    typed = text_field("Type the name", required=True)
    reason = text_field(
        "Why", required=True, longest=500, help_text="who asked, when; do not write the name here"
    )
    also = text_field(
        "Other words that name the person",
        help_text="with commas between: a family name alone, another spelling; blackened in texts "
        "about the person's premises",
    )
    is_forced = forms.BooleanField(label="Erase although something is open", required=False)
    optional_words = "if any"
    widths = {"typed": "full", "reason": "full", "also": "full", "is_forced": "full"}


@require_GET
@at_desk(verb=Verb.SET_UP)
def erase_list(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Find a party, a tester or a user by name; those erased before, without their names."""
    words = request.GET.get("q", "")[:200]
    rows = Erasure.objects.filter(program=desk.program)
    found = people_named(desk.program, words=words.replace("\x00", ""))
    context = {
        "desk": desk,
        "q": words,
        "found": found,
        "most": MOST if max(Counter(one.what for one in found).values(), default=0) >= MOST else 0,
        "erased": list(rows[:_SHOWN]),
        "total": rows.count(),
    }
    return render(request, "reports/erasing/list.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def erase_person(request: HttpRequest, desk: Desk, what: str, pk: int) -> HttpResponse:
    """What will go and what stays; then, with the name typed and a reason, it is done."""
    person = person_of(desk.program, what=what, pk=pk) if what in KINDS else None
    if person is None:
        raise Http404("No such person, or erased already.")
    form = EraseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            erase(
                person, program=desk.program, typed=told["typed"], is_forced=told["is_forced"],
                hand=desk.hand(told["reason"]), today=desk.today, by=desk.person,
                also=[one.strip() for one in told["also"].split(",")],
            )  # fmt: skip
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "It is erased. The ledger says so in place of what is gone.")
            return redirect("erase-people", code=desk.program.code)
    return render(request, "reports/erasing/one.html", _context(desk, person, form))


def _context(desk: Desk, person: Person, form: EraseForm) -> dict[str, object]:
    return {
        "desk": desk,
        "person": person,
        "form": form,
        "never": why_never(person, program=desk.program, by=desk.person),
        "open_matters": open_matters(person, program=desk.program, today=desk.today),
        "goes": sorted(shown(person, program=desk.program, today=desk.today).items()),
        "stays": STAYS[person.what],
        "pictures": pictures_of(person, program=desk.program),
        "back": f"{person.what}-{person.pk}",
        "unkeyed": unkeyed_scans(desk.program) if person.what == PARTY else 0,
    }
