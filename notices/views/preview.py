"""What the next run sends: by rung, then letter by letter, each with its why; nothing written."""

from __future__ import annotations

from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from notices.actions.preview import preview_day
from registry.access import Verb
from registry.console import Refused
from scheduling.views.desk import Desk, at_desk

_SHOWN = 200


@require_GET
@at_desk(verb=Verb.LOOK)
def letters_preview(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Today's run, or that of a day to come by what is known today."""
    day = _day(request.GET, today=desk.today)
    try:
        said = preview_day(program=desk.program, as_of=day, now=desk.now)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("letters", code=desk.program.code)
    context = {
        "desk": desk,
        "said": said,
        "day": day,
        "lines": said.lines[:_SHOWN],
        "unseen": max(len(said.lines) - _SHOWN, 0),
        "held": said.held[:_SHOWN],
    }
    return render(request, "notices/preview.html", context)


def _day(query: QueryDict, *, today: date) -> date:
    try:
        day = date.fromisoformat(query.get("on", "")[:10])
    except ValueError:
        return today
    return min(max(day, today), today + timedelta(days=366))
