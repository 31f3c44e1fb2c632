"""Busy times: calendars of testers handed in, so that no round is planned into them."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from registry.models import Tester
from reports.actions.busy import Read, read_in, take_away
from reports.busy.reading import LARGEST_BYTES, UnreadableCalendarError
from reports.queries.busy import busy_calendars_seen
from reports.queries.feeds import testers_seen
from reports.views.round_changes import SEATS
from scheduling.views.desk import Desk, at_desk

LONGEST_NAME = 80
MOST_NOTES = 10


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def busy_times(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The calendars read in; a POST reads one in, or again."""
    fault = ""
    notes: tuple[str, ...] = ()
    chosen = request.POST.get("tester", "")
    testers = list(testers_seen(desk).order_by("name", "certificate"))
    if request.method == "POST":
        try:
            read = _read(request, desk, testers=testers)
        except UnreadableCalendarError as refusal:
            fault = str(refusal)
        else:
            if not read.notes:
                messages.success(request, f"{read.row}: {read.spans:,} busy stretches ahead.")
                return redirect("busy-times", desk.program.code)
            notes = read.notes
    context = {
        "desk": desk,
        "calendars": list(busy_calendars_seen(desk)),
        "testers": testers,
        "chosen": int(chosen) if chosen.isdigit() else None,
        "name": request.POST.get("name", "") if fault else "",
        "fault": fault,
        "notes": notes[:MOST_NOTES],
        "more_notes": max(len(notes) - MOST_NOTES, 0),
    }
    return render(request, "reports/busy_times.html", context, status=422 if fault else 200)


@require_POST
@at_desk(seats=SEATS)
def busy_forget(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Forget one calendar and its hours."""
    row = get_object_or_404(busy_calendars_seen(desk), pk=pk)
    name = str(row)
    take_away(row, program=desk.program, hand=desk.hand())
    messages.success(request, f"{name} is forgotten; plans count those hours as free again.")
    return redirect("busy-times", desk.program.code)


def _read(request: HttpRequest, desk: Desk, *, testers: list[Tester]) -> Read:
    number = request.POST.get("tester", "")
    tester = next((one for one in testers if str(one.pk) == number), None)
    if number and tester is None:
        raise Http404("No such tester.")
    name = request.POST.get("name", "").strip()[:LONGEST_NAME]
    file = request.FILES.get("file")
    if tester is None or not name or file is None:
        raise UnreadableCalendarError("Choose a tester, name the calendar, and choose its file.")
    if (file.size or 0) > LARGEST_BYTES:
        raise UnreadableCalendarError("The file is larger than 2 MB. Export only the coming year.")
    return read_in(
        tester,
        name=name,
        content=file.read(),
        program=desk.program,
        today=desk.today,
        hand=desk.hand(),
    )
