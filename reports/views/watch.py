"""The quality watch: reports an administrator may want to look at, each with its evidence."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from registry.access import Verb
from reports.queries.watch import watched
from reports.wording.watch import watches_shown
from scheduling.views.desk import Desk, at_desk


@require_GET
@at_desk(verb=Verb.SET_UP)
def quality_watch(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What stands out in the reports of three years. Looking does nothing."""
    found = watched(desk.program, today=desk.today)
    context = {"desk": desk, "watched": found, "watches": watches_shown(found)}
    return render(request, "reports/quality_watch.html", context)
