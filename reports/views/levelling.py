"""Levelling the year: before and after drawn, what moves listed, applied or undone as one."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_http_methods, require_POST

from registry.access import Verb
from registry.domain.formula_guard import guarded
from reports.drawing.ribbon import Week, ribbon
from reports.views.level_run import LevelRun, begin, kept_run
from scheduling.actions.levelling import (
    LevelError,
    Proposal,
    apply_level,
    undo_level,
    why_not,
)
from scheduling.domain.level_periods import Capacity, Per
from scheduling.forms.levelling import LevelForm
from scheduling.models import LevelDecision
from scheduling.queries.levelling import owed_between, what_it_steers
from scheduling.views.desk import Desk, at_desk

_MOVES_SHOWN: Final = 200
_A_YEAR: Final = timedelta(days=364)
_WIDE: Final = 1176
_NARROW: Final = 358


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOOK)
def levelling(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The form and the year as it stands; with a run, how far it is or the proposal beside it."""
    run = kept_run(desk, str(request.GET.get("run", "")))
    form = LevelForm(
        request.POST if request.method == "POST" else None, initial=_initial(desk, run=run)
    )
    if request.method == "POST" and form.is_valid():
        try:
            return redirect(_at(desk, run=begin(desk, form.wish)))
        except LevelError as error:
            form.add_error("last" if error.field == "to" else "number", error.message)
    proposal = run.proposal if run else None
    if proposal and request.GET.get("as") == "csv":
        return _sheet(proposal)
    context = {
        "desk": desk,
        "form": form,
        "run": run,
        "refusal": run.refusal if run else "",
        "steers": what_it_steers(desk.program),
        "decisions": list(LevelDecision.objects.filter(program=desk.program)[:10]),
        **(_shown(proposal, desk) if proposal else _as_it_stands(desk)),
    }
    return render(request, "reports/levelling.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def levelling_apply(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Set the targets of the proposal that was seen; where the registry changed, nothing."""
    run = kept_run(desk, str(request.POST.get("run", "")))
    if run is None:
        messages.error(request, "That proposal is no longer kept. Propose it again.")
        return redirect("levelling", code=desk.program.code)
    if run.proposal is None:
        messages.error(request, run.refusal or "The solver is still at work.")
        return redirect(_at(desk, run=run.token))
    try:
        decision = apply_level(program=desk.program, proposal=run.proposal, hand=desk.hand())
    except LevelError as error:
        messages.error(request, error.message)
        return redirect(_at(desk, run=run.token))
    messages.success(request, f"The targets are set: {decision}.")
    return redirect("levelling", code=desk.program.code)


def _at(desk: Desk, *, run: str) -> str:
    return f"{reverse('levelling', args=[desk.program.code])}?{urlencode({'run': run})}"


def _sheet(proposal: Proposal) -> HttpResponse:
    """Every target as CSV; cells are safe for a spreadsheet."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="targets.csv"'
    sheet = csv.writer(answer)
    sheet.writerow(["serial", "premises", "opens_on", "due_on", "target_on", "moved"])
    for move in proposal.moves:
        one = move.row.its_assembly
        days = [move.row.opens_on, move.row.due_on, move.target_on]
        moved = "yes" if move.is_moved else ""
        sheet.writerow([guarded(one.serial), guarded(str(one.premises)), *days, moved])
    return answer


@require_POST
@at_desk(verb=Verb.SET_UP)
def levelling_undo(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Put back what stood before a decision."""
    decision = LevelDecision.objects.filter(program=desk.program, pk=pk).first()
    if decision is None:
        raise Http404("No such levelling.")
    try:
        number = undo_level(decision=decision, today=desk.today, hand=desk.hand())
    except LevelError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"It is undone: {number:,} targets are what they were before.")
    return redirect("levelling", code=desk.program.code)


def _initial(desk: Desk, *, run: LevelRun | None) -> dict[str, Any]:
    if run is None:
        last = desk.today + _A_YEAR
        return {"number": 25, "per": Per.WEEK, "first": desk.today, "last": last}
    wish = run.wish
    return {
        "number": wish.capacity.number,
        "per": wish.capacity.per,
        "first": wish.first,
        "last": wish.last,
    }


def _as_it_stands(desk: Desk) -> dict[str, Any]:
    """Before any proposal: the year by due date, and by the targets that stand."""
    first, last = desk.today, desk.today + _A_YEAR
    owed = owed_between(desk.program, first=first, last=last)
    days = [row.due_on for row in owed.rows.values()]
    aimed = [min(row.target_on or row.due_on, row.due_on) for row in owed.rows.values()]
    return {
        "owed": owed,
        "count": len(days),
        "before": _drawn(days, desk=desk, first=first, last=last, capacity=None, name="due"),
        "after": _drawn(aimed, desk=desk, first=first, last=last, capacity=None, name="aimed")
        if aimed != days
        else None,
    }


def _shown(proposal: Proposal, desk: Desk) -> dict[str, Any]:
    found, wish = proposal.levelling, proposal.wish
    days = [row.due_on for row in proposal.owed.rows.values()]
    line = _a_week(wish.capacity)
    first, last = wish.first, wish.last
    moved = sorted(proposal.moved, key=lambda move: (move.target_on, move.row.pk))
    return {
        "proposal": proposal,
        "owed": proposal.owed,
        "count": len(days),
        "why_not": "" if found.is_feasible else why_not(proposal),
        "moved": moved[:_MOVES_SHOWN],
        "moved_count": len(moved),
        "periods": list(zip(found.periods, proposal.before, found.loads, strict=True)),
        "before": _drawn(days, desk=desk, first=first, last=last, capacity=line, name="due"),
        "after": _drawn(
            found.targets.values(), desk=desk, first=first, last=last, capacity=line, name="aimed"
        ),
    }


def _a_week(capacity: Capacity) -> int:
    """The capacity line of a drawing by weeks: a month's is spread over its weeks."""
    if capacity.per is Per.WEEK:
        return capacity.number
    return -(-capacity.number * 12 // 52)


def _drawn(
    days: Iterable[date], *, desk: Desk, first: date, last: date, capacity: int | None, name: str
) -> tuple[SafeString, SafeString]:
    """The ribbon, wide and narrow."""
    weeks = _weeks(days, first=first, last=last)
    most = max((week.to_come for week in weeks), default=0)
    says = (
        f"Tests by the week they are {name}, {first} to {last}: "
        f"{sum(week.to_come for week in weeks):,} in all, {most:,} in the fullest week."
    )
    wide, narrow = (
        ribbon(weeks, today=desk.today, width=width, says=says, capacity=capacity)
        for width in (_WIDE, _NARROW)
    )
    return mark_safe(wide), mark_safe(narrow)  # noqa: S308  (drawn by us from integers)


def _weeks(days: Iterable[date], *, first: date, last: date) -> list[Week]:
    monday = first - timedelta(days=first.weekday())
    counts = Counter((day - monday).days // 7 for day in days)
    number = (last - monday).days // 7 + 1
    return [
        Week(starts_on=monday + timedelta(weeks=n), met=0, open_past=0, to_come=counts.get(n, 0))
        for n in range(number)
    ]
