"""The readings of a kept report held against every method there is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from registry.domain.kinds import AssemblyType
from reports.domain.limits import Limits
from reports.domain.two_parts import judge_parts
from reports.models import FieldTest
from reports.queries.kept_reports import UnreadableReportError, kept_report
from reports.queries.methods import every_method

_MARKS = {"pass": "passes", "fail": "fails", "incomplete": "incomplete"}


@dataclass(frozen=True, kw_only=True)
class UnderMethod:
    """How a report turns out under one method, and why."""

    limits: Limits
    outcome: str
    mark: str
    reasons: tuple[str, ...]
    is_the_one: bool


def by_every_method(test: FieldTest, *, today: date) -> list[UnderMethod]:
    """Each method's verdict on the report, that which judged it first; none without a type."""
    if test.assembly is None:
        return []
    try:
        kept = kept_report(test, program=test.program, as_of=today)
    except UnreadableReportError:
        return []
    found = []
    for limits in every_method(test.program):
        parts = judge_parts(
            limits,
            assembly_type=AssemblyType(test.assembly.type),
            unit=kept.report.unit,
            initial=kept.report.initial,
            final=kept.report.final,
            twins=kept.twins,
            repaired=bool(kept.report.repairs),
        )
        verdict = parts.final or parts.initial
        found.append(
            UnderMethod(
                limits=limits,
                outcome=verdict.outcome.value,
                mark=_MARKS.get(verdict.outcome.value, "refused"),
                reasons=verdict.reasons,
                is_the_one=limits.name == test.method,
            )
        )
    return sorted(found, key=lambda one: (not one.is_the_one, one.limits.name))
