"""The page of one assembly and one day: why a letter was or was not owed, rung by rung."""

from __future__ import annotations

from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from notices.queries.letter_day import letter_day
from registry.access import Verb, visible_assemblies
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.views.desk import Desk, at_desk

_EARLIEST = date(1950, 1, 1)


@require_GET
@at_desk(verb=Verb.LOOK)
def assembly_letters(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A day as it was then known; today where none is named."""
    found = visible_assemblies(desk.person).filter(program=desk.program, pk=pk)
    one = found.select_related("premises", "program").first()
    if one is None:
        raise Http404("No such assembly.")
    day = _day(request.GET, today=desk.today)
    try:
        said = letter_day(assembly=one, day=day)
    except NoRulebookError as error:
        messages.error(request, str(error))
        return redirect("assembly", code=desk.program.code, pk=one.pk)
    context = {
        "desk": desk,
        "assembly": one,
        "said": said,
        "day_before": day - timedelta(days=1),
        "day_after": day + timedelta(days=1),
    }
    return render(request, "notices/letter_day.html", context)


def _day(query: QueryDict, *, today: date) -> date:
    try:
        day = date.fromisoformat(query.get("on", "")[:10])
    except ValueError:
        return today
    return min(max(day, _EARLIEST), today + timedelta(days=366))
