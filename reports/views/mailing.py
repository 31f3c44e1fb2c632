"""A person takes back that a paper run was mailed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from notices.actions.clocks import Day
from notices.models import PaperRun
from registry.access import Verb
from registry.console import Refused
from reports.actions.mailing_taken_back import take_back
from scheduling.views.desk import Desk, at_desk


@require_POST
@at_desk(verb=Verb.RELEASE)
def paper_run_not_mailed(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take back that it was mailed: nothing of it has left until somebody says the right day."""
    run = get_object_or_404(PaperRun, program=desk.program, pk=pk)
    reason = request.POST.get("reason", "")[:300].replace("\x00", "").strip()
    day = Day(program=desk.program, on=desk.today, at=desk.now)
    try:
        again = take_back(run, day=day, hand=desk.hand(reason))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        many = "letter waits" if again == 1 else "letters wait"
        messages.success(request, f"Taken back: {again:,} {many} until you say when it was mailed.")
    return redirect("letter-run", code=desk.program.code, pk=pk)
