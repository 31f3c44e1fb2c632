"""What waits to be sent: the order and why, the day it is through; the figure and moves changed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from notices.actions.pacing import move_group, take_move_back
from notices.domain.pacing import MoveBy
from notices.models import OrderMove
from notices.queries.waiting import waiting_letters
from registry.access import Verb
from registry.actions.program_settings import SettingError, change_settings
from registry.console import Refused
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.views.desk import Desk, at_desk

_ROWS = 100
_MOST_A_DAY = 100_000


@require_GET
@at_desk(verb=Verb.LOOK)
def letters_waiting(request: HttpRequest, desk: Desk) -> HttpResponse:
    """All that is owed and has no letter yet, in the order in which it goes."""
    text = request.GET.get("page", "1")
    page = int(text) if text.isascii() and text.isdigit() and 0 < int(text) < 10_000 else 1
    try:
        said = waiting_letters(
            desk.program, today=desk.today, now=desk.now, first=(page - 1) * _ROWS, most=_ROWS
        )
    except NoRulebookError as error:
        messages.error(request, str(error))
        return redirect("letters", code=desk.program.code)
    context = {
        "desk": desk,
        "said": said,
        "page": page,
        "has_next": said.letters > page * _ROWS,
        "moves": OrderMove.objects.filter(program=desk.program, ended_at__isnull=True),
        "groups": list(MoveBy),
    }
    return render(request, "notices/waiting.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def letters_figure(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Set how many letters are composed a day at most; empty: as many as are owed."""
    text = request.POST.get("letters_a_day", "").strip().replace(",", "")
    if text and not (text.isascii() and text.isdigit() and 0 < int(text) <= _MOST_A_DAY):
        messages.error(
            request,
            f"“{text[:20]}” is no number of letters: write 1 to {_MOST_A_DAY:,}, or nothing for "
            "no limit.",
        )
        return redirect("letters-waiting", code=desk.program.code)
    wanted = int(text) if text else None
    try:
        change_settings(
            program=desk.program,
            fields={"letters_a_day": wanted},
            letterhead={},
            hand=desk.hand(),
        )
    except SettingError as error:
        messages.error(request, error.message)
    else:
        said = f"At most {wanted:,} letters a day." if wanted else "As many a day as are owed."
        messages.success(request, f"{said} The next run goes by it.")
    return redirect("letters-waiting", code=desk.program.code)


@require_POST
@at_desk(verb=Verb.RELEASE)
def letters_move(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Move a group before the others or after them, by name and reason."""
    group, where = request.POST.get("group", ""), request.POST.get("where", "")
    if group not in set(MoveBy) or where not in ("forward", "back"):
        messages.error(request, "Choose what to move, and whether forward or back.")
        return redirect("letters-waiting", code=desk.program.code)
    try:
        made = move_group(
            program=desk.program,
            group=MoveBy(group),
            value=request.POST.get("value", ""),
            is_forward=where == "forward",
            hand=desk.hand(request.POST.get("reason", "")),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Moved {where}: {made}. No step of any ladder is left out.")
    return redirect("letters-waiting", code=desk.program.code)


@require_POST
@at_desk(verb=Verb.RELEASE)
def letters_move_back(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take a move back: the group stands again where the rules put it."""
    get_object_or_404(OrderMove, program=desk.program, pk=pk)
    try:
        take_move_back(program=desk.program, pk=pk, hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The move is taken back.")
    return redirect("letters-waiting", code=desk.program.code)
