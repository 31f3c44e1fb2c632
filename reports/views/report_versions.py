"""What stands beside one report: its other versions, what its visit counts as, what may be done."""

from __future__ import annotations

from typing import Any

from registry.domain.identity import serial_key
from registry.models import Assembly
from reports.domain.visits import Cause, hindrance_of
from reports.models import FieldTest, FoundAssembly
from reports.queries.kept_reports import UnreadableReportError, kept_report
from reports.queries.program_rules import ProgramRules
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.queries.shapes import attributes_of
from scheduling.views.desk import Desk, Seat


def told_beside(test: FieldTest, *, desk: Desk) -> dict[str, Any]:
    """The versions of a report as pairs of words and report, and the acts that are open."""
    versions = [("It mends", test.mends)] if test.mends else []
    versions += [("It was mended by", other) for other in test.mended_by.order_by("pk")]
    is_office = desk.seat is Seat.OFFICE
    found = None
    if is_office and desk.acts["settle"] and test.assembly_id is None:
        waiting = FoundAssembly.objects.filter(field_test=test, settled_at__isnull=True)
        found = waiting.first()
    replaced = replaced_by(test) if is_office and desk.acts["settle"] else None
    refused = (not test.counts or bool(test.hindrance)) and not test.mended_by.exists()
    return {
        "versions": versions,
        "found": found,
        "replaced": replaced,
        "counts_as": counts_as(test) if test.hindrance else "",
        "may_mend": refused and (desk.acts["settle"] if is_office else True),
    }


def replaced_by(test: FieldTest) -> Assembly | None:
    """The assembly in place that the report says this one replaces, where both are on record."""
    if test.assembly_id is None or "eplace" not in "".join(map(str, test.cells.values())):
        return None
    try:
        visit = kept_report(test, program=test.program, as_of=test.tested_on).report.visit
    except UnreadableReportError:
        return None
    if not visit.old_serial:
        return None
    found = Assembly.objects.filter(
        program=test.program, serial_key=serial_key(visit.old_serial), state__removed_on=None
    ).exclude(pk=test.assembly_id)
    rows = list(found[:2])
    return rows[0] if len(rows) == 1 else None


def counts_as(test: FieldTest) -> str:
    """What the rulebook of its day says a visit without a test counts as, with its source."""
    if test.assembly is None:
        return ""
    try:
        book = ProgramRules(test.program).on(test.tested_on)
    except NoRulebookError:
        return "No rulebook is in force: a person decides what it counts as."
    cause = next((one for one in Cause if one.value == test.hindrance), Cause.OTHER)
    rule = book.hindrance_rule(
        hindrance=hindrance_of(cause), attributes=attributes_of(test.assembly)
    )
    if rule is None:
        return "The rulebook does not say what that counts as: a person decides."
    return f"It counts as {rule.counts_as.value} ({rule.citation})."
