"""Testing companies as a program writes to them: where each is reached, and its letters."""

from __future__ import annotations

from collections import defaultdict

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from notices.domain.addresses import window_block
from notices.models import Letter
from notices.queries.addressees import recipients_by_key
from registry.access import Verb, firms_of
from registry.models import Firm
from reports.actions.firms import keep_where_reached
from reports.queries.company_jobs import own_firms
from scheduling.forms.plain import PlainForm, text_field
from scheduling.views.desk import Desk, Seat, at_desk

_SEATS = (Seat.OFFICE, Seat.FIRM)
_SHOWN = 12
"""Newest letters shown of each company."""


class WhereReachedForm(PlainForm):
    """Where a testing company is reached; the name stays as the program knows it."""

    widths = {"address": "full", "city": "third", "state": "third", "zip": "third"}

    address = text_field("Postal address", help_text="for letters that do not go by e-mail")
    city = text_field("City", longest=120)
    state = text_field("State", longest=40)
    zip = text_field("ZIP", longest=20)
    email = forms.EmailField(
        label="E-mail",
        required=False,
        help_text="letters about reports and about what lapses go there first",
        error_messages={"invalid": "This is no e-mail address. Write name@example.org."},
    )
    phone = text_field("Telephone", longest=60)
    language = forms.ChoiceField(label="Language", choices=[("en", "English"), ("es", "Spanish")])


@require_GET
@at_desk(seats=_SEATS)
def firms(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The companies that a program accepts; a company sees itself, with the letters to it."""
    found = list(_firms(desk))
    keys = [f"firm:{one.pk}" for one in found]
    letters: dict[str, list[Letter]] = defaultdict(list)
    if found:
        rows = _letters(desk).filter(recipient_key__in=keys).order_by("-composed_on", "-pk")
        for letter in rows[: _SHOWN * len(found)]:
            if len(letters[letter.recipient_key]) < _SHOWN:
                letters[letter.recipient_key].append(letter)
    reached = recipients_by_key(keys, program=desk.program)
    changeable = {one.pk for one in found if _may_change(desk)}
    context = {
        "desk": desk,
        "is_office": desk.seat is Seat.OFFICE,
        "firms": [
            {
                "firm": one,
                "lines": window_block(reached[f"firm:{one.pk}"].mailing).lines[1:],
                "unreached": not one.email
                and bool(window_block(reached[f"firm:{one.pk}"].mailing).problems),
                "letters": letters[f"firm:{one.pk}"],
                "may_change": one.pk in changeable,
            }
            for one in found
        ],
    }
    return render(request, "reports/firms.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(seats=_SEATS)
def firm_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Where one company is reached; the office says it, or the company's own dispatcher."""
    if not _may_change(desk):
        raise PermissionDenied
    one = _firms(desk).filter(pk=pk).first()
    if one is None:
        raise Http404("No such testing company.")
    initial = {name: getattr(one, name) for name in WhereReachedForm.base_fields}
    form = WhereReachedForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        keep_where_reached(one, values=form.cleaned_data, program=desk.program, hand=desk.hand())
        messages.success(request, f"It is kept: letters to {one} go there from now on.")
        return redirect("firms", code=desk.program.code)
    context = {
        "desk": desk,
        "form": form,
        "title": f"Where {one} is reached",
        "back": reverse("firms", args=[desk.program.code]),
    }
    return render(request, "scheduling/form.html", context)


@require_GET
@at_desk(seats=_SEATS)
def firm_letter(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A letter to a company, byte by byte as it was kept; a company opens its own only."""
    keys = [f"firm:{one.pk}" for one in _firms(desk)]
    letter = _letters(desk).select_related("file").filter(recipient_key__in=keys, pk=pk).first()
    if letter is None or not hasattr(letter, "file"):
        raise Http404("No such letter to a testing company.")
    answer = HttpResponse(bytes(letter.file.pdf), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{letter.number}.pdf"'
    answer["Cache-Control"] = "private, max-age=0"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _firms(desk: Desk) -> QuerySet[Firm]:
    """All that the program accepts, or of these the person's own."""
    rows = Firm.objects.filter(approvals__program=desk.program).distinct()
    if desk.seat is Seat.OFFICE:
        return rows
    return firms_of(desk.person)


def _letters(desk: Desk) -> QuerySet[Letter]:
    """Letters of the program to companies: a company sees those that left."""
    rows = Letter.objects.filter(program=desk.program, recipient_key__startswith="firm:")
    return rows if desk.seat is Seat.OFFICE else rows.filter(left_on__isnull=False)


def _may_change(desk: Desk) -> bool:
    if desk.seat is Seat.OFFICE:
        return Verb.EDIT in desk.verbs
    return own_firms(desk.person).exists()
