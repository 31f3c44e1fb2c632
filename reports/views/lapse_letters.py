"""Letters to testing companies about what lapses: when they go, and those owed now."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from notices.models import LetterAbout
from registry.access import Verb, firms_of
from registry.console import Refused
from registry.models import Program
from reports.actions.lapse_letters import set_lapse_letters, write_lapse_letters
from reports.models import LapseLetters
from reports.queries.lapsing import by_firm, lapsing, lapsing_of
from scheduling.forms.plain import PlainForm, text_field
from scheduling.views.desk import Desk, Seat, at_desk, name_of

_SHOWN = 40


class LapseLettersForm(PlainForm):
    """How many days before a last day a letter goes, and whether one goes after it."""

    days = text_field(
        "Days before", longest=60, help_text="whole numbers with commas, e.g. 60, 30; empty: none"
    )
    is_told_after = forms.BooleanField(label="And once after the last day", required=False)
    widths = {"is_told_after": "full"}
    optional_words = "if any"

    def clean_days(self) -> list[int]:
        """The numbers, each for itself."""
        parts = [part.strip() for part in self.cleaned_data["days"].split(",") if part.strip()]
        if not all(part.isascii() and part.isdigit() for part in parts):
            raise forms.ValidationError("Write whole numbers with commas between, e.g. 60, 30.")
        return [int(part) for part in parts]


def lapse_form(program: Program) -> LapseLettersForm:
    """The form as the program has it set."""
    row = LapseLetters.objects.filter(program=program).first()
    days = ", ".join(str(one) for one in row.days_before) if row else ""
    return LapseLettersForm(
        initial={"days": days, "is_told_after": bool(row and row.is_told_after)}
    )


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def lapses(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What lapses within thirty days or just did, by testing company; a company sees its own."""
    is_office = desk.seat is Seat.OFFICE
    if is_office:
        found = lapsing(desk.program, today=desk.today)
    else:
        found = lapsing_of(desk.program, today=desk.today, firms=firms_of(desk.person))
    context = {
        "desk": desk,
        "is_office": is_office,
        "firms": [
            (firm, email, [(one, one.has_passed(desk.today)) for one in some])
            for firm, email, some in by_firm(found)
        ],
        "total": len(found),
    }
    if is_office:
        told = LetterAbout.objects.filter(program=desk.program, key__startswith="lapse:")
        newest = told.select_related("letter").order_by("-pk")[:_SHOWN]
        context["form"] = lapse_form(desk.program)
        context["letters"] = list(dict.fromkeys(one.letter for one in newest))
    return render(request, "reports/credentials/lapses.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def lapse_letters(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Keep when letters go."""
    form = LapseLettersForm(request.POST)
    if not form.is_valid():
        messages.error(request, str(next(iter(form.errors.values()))[0]))
        return redirect("lapses", code=desk.program.code)
    try:
        set_lapse_letters(
            desk.program,
            days_before=form.cleaned_data["days"],
            is_told_after=form.cleaned_data["is_told_after"],
            hand=desk.hand(),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is kept. The office\u2019s clock writes what is owed.")
    return redirect("lapses", code=desk.program.code)


@require_POST
@at_desk(verb=Verb.RELEASE)
def lapse_letters_write(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Write what is owed now, as the clock would tonight."""
    made = write_lapse_letters(desk.program, today=desk.today, at=desk.now, by=name_of(desk.person))
    if made:
        said = "1 letter is written." if len(made) == 1 else f"{len(made):,} letters are written."
        messages.success(request, said)
    else:
        messages.success(request, "Nothing is owed now: each was told, or nothing is set.")
    return redirect("lapses", code=desk.program.code)
