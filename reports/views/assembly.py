"""One assembly: how it stands and why, its history drawn, and the tables behind the drawing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from notices.queries.left_rungs import left_rungs_of
from notices.queries.left_then import left_then
from registry.access import visible_assemblies
from registry.models import Assembly
from reports.domain.causes import Cause
from reports.domain.risk import Chance, Unknown
from reports.drawing.timeline import timeline
from reports.drawing.window import desk_window, phone_window
from reports.queries.causes import causes_of_part, shipped_causes
from reports.queries.certificates import offered_on
from reports.queries.one_assembly import (
    LetterRow,
    TestRow,
    facts_of,
    history_of,
    letters_of,
    reading_names,
    reports_of,
    test_rows,
)
from reports.queries.trends import chance_of_any, chances, histories, peers_of
from reports.queries.withdrawn_facts import letters_while_it_stood
from reports.views.certificates import certified_tests
from reports.wording.rungs import RungShown, rung_of, rungs_shown
from reports.wording.standing import StandingDays, standing_sentence
from reports.wording.trends import falling_readings, percent, trend_shown
from scheduling.domain.standing import Standing, StandingDates, dates_of
from scheduling.models import Fact
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


@dataclass(frozen=True, kw_only=True)
class Told:
    """An assembly's record as of a day, as known now or then, for one seat."""

    as_of: date
    known_on: date | None
    explained: dict[str, Any]
    dates: StandingDates
    rungs: dict[str, RungShown]
    facts: list[Fact]
    names: list[str]
    tests: list[TestRow]
    letters: list[LetterRow]


@require_GET
@at_desk(seats=EVERY_SEAT)
def assembly(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The page, as of today or another day, as known now or then."""
    one = seen_assembly(desk, pk)
    told = _told(
        one,
        desk,
        as_of=_day(request.GET, "as_of", desk.today) or desk.today,
        known_on=_day(request.GET, "known_at", desk.today),
    )
    context = {
        "desk": desk,
        "assembly": one,
        "is_office": desk.seat is Seat.OFFICE,
        "is_another_day": told.as_of != desk.today or told.known_on is not None,
        **_standing_words(told, desk),
        **_drawings(one, told),
        "as_of": told.as_of,
        "known_on": told.known_on,
        "tests": told.tests,
        **_certificates(told, desk),
        **_trends(one, told, desk),
        "names": told.names,
        "letters": told.letters,
        "facts": told.facts,
        "stood": letters_while_it_stood(told.facts, letters=told.letters, zone=desk.zone),
        "obligations": list(reversed(told.explained["obligations"])),
    }
    return render(request, "reports/assembly.html", context)


def _trends(one: Assembly, told: Told, desk: Desk) -> dict[str, Any]:
    """Courses of the readings by that day; chances only of today, from what is known now."""
    courses = histories(row.report for row in told.tests if row.report)
    next_on = max(told.dates.due_on or told.as_of, told.as_of)
    share = None
    shares: dict[str, Chance | Unknown] = {}
    if courses and told.as_of == desk.today and told.known_on is None:
        shares = chances(
            one,
            courses=courses,
            peers=peers_of(program=desk.program, type_=one.type, by=told.as_of),
            next_on=next_on,
            installed_on=one.state.installed_on if hasattr(one, "state") else None,
        )
        share = chance_of_any(list(shares.values()))
    shown = [
        trend_shown(name, history, chance=shares.get(name), next_on=next_on)
        for name, history in courses.items()
    ]
    return {
        "causes": _causes(one, told, falling=falling_readings(courses)),
        "causes_caution": shipped_causes().caution,
        "trends": [trend for trend in shown if trend],
        "next_test_on": next_on,
        "chance_of_any": percent(share) if share is not None and len(shares) > 1 else "",
    }


def _causes(one: Assembly, told: Told, *, falling: frozenset[str]) -> tuple[Cause, ...]:
    """What the newest counted readings, as they were left, point to."""
    newest = next((row.report for row in told.tests if row.report and row.report.counts), None)
    if newest is None:
        return ()
    part = "final" if (newest.verdict or {}).get("final") else "initial"
    return causes_of_part(newest, part=part, type_=one.type, falling=falling)


def _certificates(told: Told, desk: Desk) -> dict[str, Any]:
    """What is offered on the tests the person may have certificates of. Two queries.

    One that was not made yet is offered at the newest of them; an older test's page offers its
    own, and an owner, who has no such page, is offered all.
    """
    reports = [row.report for row in told.tests if row.report]
    mine = certified_tests(desk).filter(pk__in=[one.pk for one in reports])
    allowed = set(mine.values_list("pk", flat=True))
    counted = [one for one in reports if one.pk in allowed]
    may_make = desk.acts["edit"] or desk.seat is not Seat.OFFICE
    offering = counted if desk.seat is Seat.OWNER else counted[:1]
    return {
        "certificates": offered_on(counted),
        "made_here": {one.pk for one in offering} if may_make else set(),
    }


def _told(one: Assembly, desk: Desk, *, as_of: date, known_on: date | None) -> Told:
    known_at = _end_of(known_on, desk) if known_on else None
    left = (
        left_then(assembly=one, by=min(as_of, known_on), known_on=known_on)
        if known_on
        else left_rungs_of(assembly=one, as_of=as_of)
    )
    explained = explain_assembly(assembly=one, as_of=as_of, known_at=known_at, left=left)
    book = rulebook_of(desk)
    rungs = {rung.key: rung for rung in (rungs_shown(book.ladder) if book else [])}
    facts = facts_of(one, as_of=as_of, known_at=known_at)
    reports = reports_of(one, as_of=as_of, known_at=known_at)
    names = reading_names(reports)
    is_office = desk.seat is Seat.OFFICE
    return Told(
        as_of=as_of,
        known_on=known_on,
        explained=explained.to_json(),
        dates=dates_of(ledger_of(assembly=one, as_of=as_of, known_at=known_at)),
        rungs=rungs,
        facts=facts,
        names=names,
        tests=test_rows(facts=facts, reports=reports, names=names),
        letters=letters_of(one, as_of=as_of, rungs=rungs) if is_office else [],
    )


def _standing_words(told: Told, desk: Desk) -> dict[str, Any]:
    explained = told.explained
    is_office = desk.seat is Seat.OFFICE
    reasons = [
        one for one in explained["reasons"] if is_office or not one["rule"].startswith("ladder")
    ]
    prepared = (row.letter_id for row in told.letters if row.is_prepared and row.letter_id)
    return {
        "standing": explained["standing"],
        "sentence": _sentence(told.dates, explained, told.as_of),
        "reasons": reasons,
        "why": _why(reasons, due_on=_decided_by(explained)),
        "warnings": explained["warnings"],
        "next": _next(explained, told.rungs) if is_office else None,
        "order_letter": next(prepared, None),
    }


def _drawings(one: Assembly, told: Told) -> dict[str, Any]:
    owed = told.explained["obligations"]
    history = history_of(
        one,
        obligations=owed,
        facts=told.facts,
        tests=told.tests,
        letters=told.letters,
        says=f"History of {one.serial}: {len(owed)} obligations, {len(told.tests)} tests, "
        f"{len(told.letters)} letters. The tables below hold every date.",
    )
    day = told.as_of
    return {
        "drawn_wide": _drawn(timeline(history, today=day, window=desk_window(day))),
        "drawn_narrow": _drawn(timeline(history, today=day, window=phone_window(day))),
        "flags": [rung for rung in told.rungs.values() if rung.step] if told.letters else [],
    }


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
