"""What stands beside one report: its other versions, what its visit counts as, what may be done."""

from __future__ import annotations

from typing import Any

from reports.domain.visits import Cause, hindrance_of
from reports.models import FieldTest, FoundAssembly
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
    refused = (not test.counts or bool(test.hindrance)) and not test.mended_by.exists()
    return {
        "versions": versions,
        "found": found,
        "counts_as": counts_as(test) if test.hindrance else "",
        "may_mend": refused and (desk.acts["settle"] if is_office else True),
    }


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
