"""The runs of the day: what each did, which days were missed, and whether the clock is well."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from notices.queries.office_clock import clock_face
from registry.access import Verb
from reports.queries.run_days import RunDay, run_days
from scheduling.views.desk import Desk, at_desk


@require_GET
@at_desk(verb=Verb.LOOK)
def runs(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The last sixty days, newest first; what is wrong with the clock stands above them."""
    days = run_days(desk.program, today=desk.today)
    face = None if desk.program.is_trial else clock_face(desk.program, now=timezone.now())
    context = {
        "desk": desk,
        "days": [_shown(day, desk) for day in days],
        "fault": face.fault if face else "",
        "wake": face.wake if face else None,
        "begins_at": f"{settings.DAY_BEGINS_AT}:00",
    }
    return render(request, "reports/runs.html", context)


def _shown(day: RunDay, desk: Desk) -> tuple[RunDay, object, object]:
    return day, day.first_at.astimezone(desk.zone), day.last_at.astimezone(desk.zone)
