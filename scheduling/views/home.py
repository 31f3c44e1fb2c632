"""Where a person goes after logging in: their program, or the choice among several."""

from __future__ import annotations

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from scheduling.views.desk import Seat, desk_or_404, programs_seen_by


@require_GET
@login_required
def home(request: HttpRequest) -> HttpResponse:
    """One program: its first page. Several: a choice. None: what to do about it."""
    programs = programs_seen_by(request.user)
    desks = [desk_or_404(person=request.user, code=program.code) for program in programs]
    if len(desks) == 1:
        first = {Seat.OFFICE: "today", Seat.FIRM: "rounds", Seat.OWNER: "registry"}
        return redirect(first[desks[0].seat], code=desks[0].program.code)
    return render(request, "scheduling/choose_program.html", {"desks": desks})
