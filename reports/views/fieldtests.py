"""Field tests: the list, one report with its criteria, and what waits for a person and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from registry.access import Verb, firms_of, visible_assemblies
from reports.actions.deciding import DecisionError, settle_field_test, take_field_test_as
from reports.domain.causes import Cause
from reports.domain.wording import label
from reports.models import FieldTest
from reports.queries.causes import causes_of_part, shipped_causes
from reports.queries.certificates import CERTIFIED, offered_on
from reports.queries.one_assembly import verdict_words
from reports.views.report_versions import told_beside
from scheduling.views.desk import Desk, Seat, at_desk

_ROWS = 40
_OUTCOMES = ("pass", "fail", "incomplete", "refused")


@dataclass(frozen=True, kw_only=True)
class TestShown:
    """A row of the list."""

    test: FieldTest
    mark: str
    word: str
    look: str


@dataclass(frozen=True, kw_only=True)
class CriterionShown:
    """A criterion with its reading, limit and margin in words."""

    name: str
    reading: str
    limit: str
    mark: str
    word: str
    citation: str


@dataclass(frozen=True, kw_only=True)
class PartShown:
    """One part of a report: as found, or after repair."""

    title: str
    outcome: str
    criteria: list[CriterionShown]
    reasons: list[str]
    warnings: list[str]
    causes: tuple[Cause, ...]


def tests_seen(desk: Desk) -> QuerySet[FieldTest]:
    """Reports of this program that a person may see: the office all, a company its own."""
    found = FieldTest.objects.filter(program=desk.program)
    if desk.seat is Seat.OFFICE:
        return found
    return found.filter(tester__firm__in=firms_of(desk.person))


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def field_tests(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The reports, newest first; with `waiting=yes` those that need a person, oldest first."""
    is_waiting = request.GET.get("waiting") == "yes"
    outcome = request.GET.get("outcome", "")
    search = request.GET.get("q", "")[:100].replace("\x00", "").strip()
    found = tests_seen(desk).select_related("assembly", "assembly__premises")
    if is_waiting:
        found = found.filter(waits_for_person=True).order_by("tested_on", "pk")
    if outcome in _OUTCOMES:
        found = found.filter(outcome=outcome)
    if search:
        found = found.filter(
            Q(serial__icontains=search)
            | Q(tester_certificate__icontains=search)
            | Q(tester_name__icontains=search)
        )
    page = _page(request)
    rows = list(found[(page - 1) * _ROWS : page * _ROWS + 1])
    context = {
        "desk": desk,
        "is_office": desk.seat is Seat.OFFICE,
        "rows": [_row(test) for test in rows[:_ROWS]],
        "has_next": len(rows) > _ROWS,
        "page": page,
        "total": found.count(),
        "waiting_total": tests_seen(desk).filter(waits_for_person=True).count(),
        "is_waiting": is_waiting,
        "outcome": outcome,
        "outcomes": _OUTCOMES,
        "search": search,
    }
    return render(request, "reports/field_tests.html", context)


def _page(request: HttpRequest) -> int:
    text = request.GET.get("page", "1")
    return int(text) if text.isascii() and text.isdigit() and 0 < int(text) < 100_000 else 1


def _row(test: FieldTest) -> TestShown:
    mark, word = verdict_words(test)
    reasons = [str(one) for one in test.reasons]
    # The first reason of a report that does not count says only that; the next says why.
    look = reasons[0] if reasons else ""
    if not test.counts and len(reasons) > 1:
        look = reasons[1]
    return TestShown(test=test, mark=mark, word=word, look=look)


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def field_test(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One report: readings, criteria with margins, whether it counts, and why not."""
    found = tests_seen(desk).filter(pk=pk)
    test = found.select_related("assembly__premises", "tester__firm", "gauge", "batch").first()
    if test is None:
        raise Http404("No such field test.")
    near = visible_assemblies(desk.person).filter(
        program=desk.program, serial__in=[str(one) for one in test.near]
    )
    mark, word = verdict_words(test)
    context = {
        **told_beside(test, desk=desk),
        "desk": desk,
        "is_office": desk.seat is Seat.OFFICE,
        "test": test,
        "mark": mark,
        "word": word,
        "parts": [
            _part(test, "initial", "Initial test"),
            *([_part(test, "final", "Final test, after repair")] if test.final else []),
        ],
        "near": list(near.select_related("premises")) if test.near else [],
        "causes_caution": shipped_causes().caution,
        "can_settle": desk.acts["settle"] and test.waits_for_person,
        "offered": offered_on([test])[test.pk] if test.counts and test.outcome in CERTIFIED else [],
        "may_certify": desk.acts["edit"] or desk.seat is not Seat.OFFICE,
        "cells": sorted((str(k), str(v)) for k, v in test.cells.items() if v not in (None, "")),
    }
    return render(request, "reports/field_test.html", context)


def _waiting(desk: Desk, pk: int) -> FieldTest:
    test = tests_seen(desk).filter(pk=pk).first()
    if test is None:
        raise Http404("No such field test.")
    return test


@require_POST
@at_desk(verb=Verb.SETTLE)
def field_test_settle(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Note what a person decided about a report that waits; nothing moves by it."""
    test = _waiting(desk, pk)
    words = request.POST.get("decision", "")[:500].replace("\x00", "")
    try:
        settle_field_test(
            program=desk.program, test_id=test.pk, decision=words, hand=desk.hand(words.strip())
        )
    except DecisionError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(request, "The decision is kept; the assembly stands where it stood.")
    return redirect("field-test", code=desk.program.code, pk=pk)


@require_POST
@at_desk(verb=Verb.SETTLE)
def field_test_take(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take a report for an assembly whose serial was misread, and judge it anew."""
    test = _waiting(desk, pk)
    chosen = request.POST.get("assembly", "")
    seen = visible_assemblies(desk.person).filter(program=desk.program)
    one = seen.filter(pk=int(chosen)).first() if chosen.isascii() and chosen.isdigit() else None
    if one is None:
        messages.error(request, "Choose the assembly that was tested.")
        return redirect("field-test", code=desk.program.code, pk=pk)
    try:
        take_field_test_as(
            program=desk.program,
            test_id=test.pk,
            assembly_id=one.pk,
            as_of=desk.today,
            hand=desk.hand(f"The serial {test.serial} was read for {one.serial}"),
        )
    except DecisionError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(request, f"The report is taken for {one.serial} and judged anew.")
    return redirect("field-test", code=desk.program.code, pk=pk)


def _part(test: FieldTest, key: str, title: str) -> PartShown:
    part: dict[str, Any] = (test.verdict or {}).get(key) or {}
    return PartShown(
        title=title,
        outcome=str(part.get("outcome", "")),
        criteria=[_criterion(one, unit=test.unit) for one in part.get("criteria", [])],
        reasons=[str(one) for one in part.get("reasons", [])],
        warnings=[str(one) for one in part.get("warnings", [])],
        causes=_causes(test, key),
    )


def _causes(test: FieldTest, part: str) -> tuple[Cause, ...]:
    if test.assembly is None:
        return ()
    return causes_of_part(test, part=part, type_=test.assembly.type)


def _criterion(one: dict[str, Any], *, unit: str) -> CriterionShown:
    met, margin = one.get("met"), one.get("margin")
    mark = "incomplete" if met is None else ("passes" if met else "fails")
    if met is None:
        word = "Not recorded" if one.get("reading") in (None, "") else "Nothing can be said"
    elif margin not in (None, ""):
        figure = str(margin).lstrip("-")
        word = f"Meets it, by {figure}" if met else f"Below the limit by {figure}"
    else:
        word = "Meets it" if met else "Does not meet it"
    return CriterionShown(
        name=label(str(one.get("name", ""))),
        reading=str(one.get("reading") or ""),
        limit=f"{one['limit']} {unit}" if one.get("limit") else "",
        mark=mark,
        word=word,
        citation=str(one.get("citation", "")),
    )
