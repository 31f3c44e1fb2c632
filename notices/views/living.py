"""A trial moves its own day: by one, to the next letter, or to a date; what happened is shown."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from notices.actions.living import Lived, live_to, live_to_next_letter
from notices.domain.long_dates import long_date
from notices.queries.lived import lived_days, next_day_of
from registry.access import Verb
from registry.console import Refused
from scheduling.domain.workdays import ONE_DAY
from scheduling.views.desk import Desk, at_desk


@require_GET
@at_desk(verb=Verb.LOOK)
def live_on(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Where the trial stands, how to go on, and what its last days brought."""
    if not desk.program.is_trial:
        raise Http404("Only a trial lives on any day.")
    context = {
        "desk": desk,
        "days": lived_days(desk.program),
        "next_day": next_day_of(desk.program, after=desk.today),
        "tomorrow": desk.today + ONE_DAY,
    }
    return render(request, "notices/live_on.html", context)


@require_POST
@at_desk(verb=Verb.RELEASE)
def live_on_to(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Move the trial's day and run what comes."""
    if not desk.program.is_trial:
        raise Http404("Only a trial lives on any day.")
    try:
        lived = _lived(desk, how=request.POST.get("how", ""), day=request.POST.get("day", ""))
    except Refused as refusal:
        messages.error(request, f"{refusal} Nothing was run.")
        return redirect("live-on", code=desk.program.code)
    _tell(request, lived)
    return redirect("live-on", code=desk.program.code)


def _lived(desk: Desk, *, how: str, day: str) -> Lived:
    now = timezone.now()
    if how == "letter":
        return live_to_next_letter(desk.program, today=desk.today, now=now)
    if how == "day":
        return live_to(desk.program, today=desk.today, to=desk.today + ONE_DAY, now=now)
    try:
        wanted = date.fromisoformat(day[:10])
    except ValueError:
        raise Refused("Choose a day.") from None
    return live_to(desk.program, today=desk.today, to=wanted, now=now)


def _tell(request: HttpRequest, lived: Lived) -> None:
    letters = sum(run.letters for run in lived.runs)
    words = "1 letter" if letters == 1 else f"{letters:,} letters"
    if lived.is_there:
        messages.success(request, f"It is {long_date(lived.day)} now; {words} composed on the way.")
    elif lived.runs:
        told = f"It is {long_date(lived.day)} now, after {len(lived.runs)} runs; {words} composed."
        messages.warning(request, f"{told} Go on.")
    else:
        messages.warning(request, "No letter comes in the next two years by what is known now.")
