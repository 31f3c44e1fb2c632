"""One assembly: how it stands and why, its history drawn, and the tables behind the drawing."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from notices.queries.left_rungs import left_rungs_of
from registry.access import visible_assemblies
from registry.models import Assembly
from reports.drawing.timeline import desk_window, phone_window, timeline
from reports.queries.one_assembly import (
    facts_of,
    history_of,
    letters_of,
    reading_names,
    reports_of,
    test_rows,
)
from reports.wording.rungs import rung_of, rungs_shown
from reports.wording.standing import StandingDays, standing_sentence
from scheduling.domain.standing import Standing, StandingDates, dates_of
from scheduling.queries.standings import explain_assembly, ledger_of
from scheduling.views.desk import EVERY_SEAT, Desk, Seat, at_desk
from scheduling.views.rules_in_force import rulebook_of


def seen_assembly(desk: Desk, pk: int) -> Assembly:
    """An assembly of this program that the person may see; Http404 otherwise."""
    found = visible_assemblies(desk.person).filter(program=desk.program, pk=pk)
    assembly = found.select_related("premises", "connection", "state", "program").first()
    if assembly is None:
        raise Http404("No such assembly.")
    return assembly


@require_GET
@at_desk(seats=EVERY_SEAT)
def assembly(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The page, as of today or another day, as known now or then."""
    one = seen_assembly(desk, pk)
    as_of = _day(request.GET, "as_of", desk.today) or desk.today
    known_on = _day(request.GET, "known_at", desk.today)
    known_at = _end_of(known_on, desk) if known_on else None
    left = left_rungs_of(assembly=one, as_of=as_of)
    told = explain_assembly(assembly=one, as_of=as_of, known_at=known_at, left=left).to_json()
    dates = dates_of(ledger_of(assembly=one, as_of=as_of, known_at=known_at))
    book = rulebook_of(desk)
    rungs = {rung.key: rung for rung in (rungs_shown(book.ladder) if book else [])}
    facts = facts_of(one, as_of=as_of, known_at=known_at)
    reports = reports_of(one, as_of=as_of, known_at=known_at)
    names = reading_names(reports)
    tests = test_rows(facts=facts, reports=reports, names=names)
    is_office = desk.seat is Seat.OFFICE
    letters = letters_of(one, as_of=as_of, rungs=rungs) if is_office else []
    history = history_of(
        one,
        obligations=told["obligations"],
        facts=facts,
        tests=tests,
        letters=letters,
        says=f"History of {one.serial}: {len(told['obligations'])} obligations, "
        f"{len(tests)} tests, {len(letters)} letters. The tables below hold every date.",
    )
    context = {
        "desk": desk,
        "assembly": one,
        "as_of": as_of,
        "known_on": known_on,
        "is_another_day": as_of != desk.today or known_on is not None,
        "is_office": is_office,
        "standing": told["standing"],
        "sentence": _sentence(dates, told, as_of),
        "reasons": told["reasons"],
        "why": _why(told["reasons"], due_on=_decided_by(told)),
        "warnings": told["warnings"],
        "next": _next(told, rungs) if is_office else None,
        "order_letter": next((r.letter_id for r in letters if r.is_prepared and r.letter_id), None),
        "tests": tests,
        "names": names,
        "letters": letters,
        "facts": facts,
        "obligations": list(reversed(told["obligations"])),
        "drawn_wide": _drawn(timeline(history, today=as_of, window=desk_window(as_of))),
        "drawn_narrow": _drawn(timeline(history, today=as_of, window=phone_window(as_of))),
        "flags": [rung for rung in rungs.values() if rung.step] if letters else [],
        "replaced_by": one.replaced_by,
    }
    return render(request, "reports/assembly.html", context)


def _day(query: QueryDict, name: str, today: date) -> date | None:
    try:
        day = date.fromisoformat(query.get(name, "")[:10])
    except ValueError:
        return None
    return day if date(1950, 1, 1) <= day <= today + timedelta(days=366) else None


def _end_of(day: date, desk: Desk) -> datetime:
    return datetime.combine(day, time(23, 59, 59), tzinfo=desk.zone)


def _drawn(markup: str) -> SafeString:
    return mark_safe(markup)  # noqa: S308  (every text in it was escaped on the way in)


def _sentence(dates: StandingDates, told: dict[str, Any], as_of: date) -> str:
    current = next((o for o in reversed(told["obligations"]) if not o["closed_on"]), None)
    days = StandingDays(
        opens_on=dates.opens_on,
        due_on=dates.due_on,
        cure_by=_iso(current["cure_by"]) if current else None,
        failed_on=dates.failed_on,
        idle_since=dates.idle_since,
        removed_on=dates.removed_on,
        last_passed_on=dates.last_passed_on,
    )
    return standing_sentence(Standing(told["standing"]), days=days, today=as_of)


def _iso(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _decided_by(told: dict[str, Any]) -> str | None:
    """The day that the standing hangs on: to be cured by once failed, else due."""
    current = next((o for o in reversed(told["obligations"]) if not o["closed_on"]), None)
    if told["standing"] == Standing.FAILED and current and current["cure_by"]:
        return str(current["cure_by"])
    return told["due_on"] and str(told["due_on"])


def _why(reasons: list[dict[str, str]], *, due_on: str | None) -> dict[str, str] | None:
    """The step of the sum that gave the due date which stands; else the last step there is."""
    sums = [one for one in reasons if due_on and f"= {due_on}" in one["arithmetic"]]
    steps = [one for one in reasons if not one["rule"].startswith(("ladder", "standing"))]
    found = sums or steps or reasons
    return found[-1] if found else None


def _next(told: dict[str, Any], rungs: dict[str, Any]) -> dict[str, Any] | None:
    step = told["next_rung"]
    if not step:
        return None
    ladder = [one for one in told["reasons"] if one["rule"] == f"ladder {step['rung']}"]
    return {
        "rung": rung_of(step["rung"], rungs),
        "on": _iso(step["on"]),
        "why": ladder[-1] if ladder else None,
    }
