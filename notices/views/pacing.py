"""Days on which no letter leaves: a hold on all letters, quiet days, and monthly gathering."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from notices.actions.pacing import (
    drop_quiet,
    end_hold,
    gather_monthly,
    hold_all_letters,
    keep_quiet,
)
from notices.domain.pacing import LAST_DAY_OF_EVERY_MONTH
from notices.models import Gathering, LetterHold, QuietDays
from notices.queries.pacing import letter_hold
from registry.access import Verb
from registry.console import Refused
from registry.models import Party
from scheduling.views.desk import Desk, at_desk

_PAST = 20


@require_GET
@at_desk(verb=Verb.LOOK)
def letters_pace(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What is held and quiet, what was, and whose courtesy letters are gathered."""
    program = desk.program
    gathered = Gathering.objects.filter(party__program=program).select_related("party")
    context = {
        "desk": desk,
        "hold": letter_hold(program, on=desk.today),
        "past_holds": LetterHold.objects.filter(program=program)[:_PAST],
        "quiet": QuietDays.objects.filter(program=program, to_on__gte=desk.today)[:200],
        "gathered": gathered.order_by("party__name")[:200],
    }
    return render(request, "notices/pace.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def letters_hold(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Hold all letters up to and with a day."""
    until = _date(request.POST.get("until", ""))
    if until is None:
        messages.error(request, "Write the last day of the hold. Nothing was changed.")
        return _back(desk)
    hand = desk.hand(request.POST.get("reason", ""))
    try:
        made = hold_all_letters(program=desk.program, until=until, today=desk.today, hand=hand)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"All letters are held up to and with {made.until_on}.")
    return _back(desk)


@require_POST
@at_desk(verb=Verb.SET_UP)
def letters_hold_end(request: HttpRequest, desk: Desk) -> HttpResponse:
    """End the hold before its day."""
    try:
        end_hold(program=desk.program, today=desk.today, hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The hold has ended. The next run sends what is owed.")
    return _back(desk)


@require_POST
@at_desk(verb=Verb.SET_UP)
def quiet_add(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Keep days quiet; one day where no last one is named."""
    first = _date(request.POST.get("from", ""))
    last = _date(request.POST.get("to", "")) or first
    if first is None or last is None:
        messages.error(request, "Write the first quiet day. Nothing was changed.")
        return _back(desk)
    why = request.POST.get("why", "")
    try:
        keep_quiet(program=desk.program, first=first, last=last, why=why, hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The quiet days are kept.")
    return _back(desk)


@require_POST
@at_desk(verb=Verb.SET_UP)
def quiet_drop(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take quiet days away."""
    get_object_or_404(QuietDays, program=desk.program, pk=pk)
    try:
        drop_quiet(program=desk.program, pk=pk, hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "They are no quiet days any more.")
    return _back(desk)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def letter_gathering(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Gather a recipient's courtesy letters on a day of the month, or no more."""
    party = get_object_or_404(Party, program=desk.program, pk=pk)
    if request.method == "GET":
        kept = Gathering.objects.filter(party=party).first()
        context = {"desk": desk, "party": party, "day": kept.day_of_month if kept else None}
        return render(request, "notices/gathering.html", context)
    text = request.POST.get("day_of_month", "").strip()
    if text and not (text.isascii() and text.isdigit() and len(text) < 3):
        messages.error(request, f"Choose a day from 1 to {LAST_DAY_OF_EVERY_MONTH}.")
        return _back(desk)
    day = int(text) if text else None
    try:
        gather_monthly(party=party, day_of_month=day, hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        said = f"gathered on day {day} of each month" if day else "sent each on its own day"
        messages.success(request, f"Courtesy letters to {party.name} are {said}.")
    return _back(desk)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


def _back(desk: Desk) -> HttpResponse:
    return redirect("letters-pace", code=desk.program.code)
