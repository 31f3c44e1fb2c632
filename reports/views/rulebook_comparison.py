"""A draft or a place's rulebook against the one in force, and a draft put in force."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from registry.access import Verb
from reports.queries.methods import every_method
from reports.views.comparison_run import (
    Run,
    StaleComparisonError,
    as_csv,
    begin,
    drawn,
    resume,
)
from scheduling.actions.drafting import Seen
from scheduling.actions.enforcing import EnforcingError, enforce_draft
from scheduling.domain.draft_tables import DraftError
from scheduling.domain.forecast import ASSUMED, LATE_DAYS
from scheduling.queries.comparing import CannotCompareError
from scheduling.queries.editions import adoptions_of, drafts_of
from scheduling.queries.rulebooks import NoRulebookError, rulebook_from
from scheduling.queries.shipped import UnknownRulebookError
from scheduling.views.desk import Desk, at_desk
from scheduling.views.drafts import draft_or_404
from scheduling.views.rules_in_force import adoption_of

FIRST, LAST = date(1900, 1, 1), date(2200, 12, 31)


def taking_effect_on(request: HttpRequest, desk: Desk) -> date:
    """Return the day asked about; today where none is written, or none that can be."""
    try:
        day = date.fromisoformat(str(request.GET.get("from", "")))
    except ValueError:
        return desk.today
    return day if FIRST <= day <= LAST else desk.today


def _compared(desk: Desk, work: Callable[[], Run]) -> Run | str:
    """Return the run, or the sentence that says why there is none."""
    try:
        return work()
    except UnknownRulebookError as error:
        raise Http404(str(error)) from error
    except (CannotCompareError, NoRulebookError, StaleComparisonError) as error:
        return str(error)


@require_http_methods(["GET", "POST"])
@at_desk()
def compare(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What would change; posted, it goes on from where it stood, or is exported."""
    token = str(request.POST.get("state", ""))
    word = str(request.GET.get("with", ""))[:200] or first_draft(desk)

    def work() -> Run:
        if request.method == "POST":
            return resume(program=desk.program, token=token)
        return begin(program=desk.program, word=word, effective_on=taking_effect_on(request, desk))

    run = _compared(desk, work)
    if isinstance(run, str):
        context = {"desk": desk, "problem": run}
        return render(request, "reports/rulebook_comparison.html", context, status=422)
    wanted = str(request.POST.get("export", ""))
    if wanted in ("csv", "json") and run.comparison.is_whole:
        return _exported(run, wanted=wanted)
    return render(request, "reports/rulebook_comparison.html", _context(desk, run))


def first_draft(desk: Desk) -> str:
    """The word for the program's first draft; empty where it has none."""
    drafts = drafts_of(desk.program)
    return f"draft:{drafts[0].pk}" if drafts else ""


def _exported(run: Run, *, wanted: str) -> HttpResponse:
    if wanted == "csv":
        answer = HttpResponse(as_csv(run.comparison), content_type="text/csv; charset=utf-8")
    else:
        answer = JsonResponse({"draft": run.book.name, **run.comparison.to_json()})
    name = f"{run.book.name}-compared.{wanted}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _context(desk: Desk, run: Run) -> dict[str, Any]:
    comparison = run.comparison
    found: dict[str, Any] = {
        "desk": desk,
        "run": run,
        "found": comparison,
        "adoption": adoption_of(desk),
        "state": run.token(desk.program),
        "assumed": ASSUMED,
        "late_days": LATE_DAYS,
    }
    if comparison.is_whole:
        found["drawn"] = drawn(comparison)
        found["letters_now"] = sum(comparison.letters_now)
        found["letters_then"] = sum(comparison.letters_then)
    return found


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def enforce(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What will happen first, then the decision by name; nothing is decided by a GET."""
    row = draft_or_404(desk, pk=pk)
    token = str(request.POST.get("state", ""))

    def work() -> Run:
        if request.method == "POST":
            return resume(program=desk.program, token=token)
        return begin(
            program=desk.program, word=f"draft:{pk}", effective_on=taking_effect_on(request, desk)
        )

    run = _compared(desk, work)
    if isinstance(run, str) or (run.row is None or run.row.pk != row.pk):
        problem = run if isinstance(run, str) else "That was another draft: compare again."
        context = {"desk": desk, "row": row, "problem": problem}
        return render(request, "reports/rulebook_enforce.html", context, status=422)
    reason = str(request.POST.get("reason", ""))[:500].strip()
    is_decided = request.POST.get("act") == "enforce" and run.comparison.is_whole
    if is_decided and reason:
        return _enforced(request, desk, run=run, pk=pk, reason=reason)
    context = {**_context(desk, run), **_free_day(desk, run), "row": row, "no_reason": is_decided}
    status = 422 if is_decided else 200
    return render(request, "reports/rulebook_enforce.html", context, status=status)


def _free_day(desk: Desk, run: Run) -> dict[str, Any]:
    """Return what is in force from the very day asked about, if anything, and the next free day."""
    asked = run.comparison.effective_on
    taken = {one.effective_on: one for one in adoptions_of(desk.program)}
    free = max(asked, desk.today)
    while free in taken:
        free += timedelta(days=1)
    return {"taken": taken.get(asked), "free_on": free}


def _enforced(request: HttpRequest, desk: Desk, *, run: Run, pk: int, reason: str) -> HttpResponse:
    day = run.comparison.effective_on
    method = rulebook_from(run.row).method if run.row else ""
    known = [one.name for one in every_method(desk.program)]
    if method and method not in known:
        told = f"No method is called {method}; there are {', '.join(known)}. Name one of these."
        messages.error(request, told)
        return redirect("rulebook-draft", code=desk.program.code, pk=pk)
    try:
        done = enforce_draft(
            seen=Seen(program=desk.program, draft_id=pk, sha256=run.row.sha256 if run.row else ""),
            effective_on=day,
            today=desk.today,
            hand=desk.hand(reason=reason),
        )
    except (EnforcingError, DraftError) as error:
        messages.error(request, str(error))
        return redirect("rulebook-draft", code=desk.program.code, pk=pk)
    said = f"{done.adoption.rulebook} is in force from {day:%B} {day.day}, {day.year}."
    if day > desk.today:
        said += " Until then it can be taken back."
    elif not done.is_replayed:
        said += " The next run of the day works out every due date anew."
    messages.success(request, said)
    return redirect("rulebook", code=desk.program.code)
