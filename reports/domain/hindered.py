"""Whether a visit found no test, why, and what beside its readings is to be warned about."""

from __future__ import annotations

from collections.abc import Iterator

from reports.domain.measured import was_measured
from reports.domain.readings import ReadingName, Word
from reports.domain.report_rows import FieldReport
from reports.domain.two_parts import BothParts
from reports.domain.verdicts import Outcome
from reports.domain.visits import CAUSE_WORDS, Cause


def hindrance_in(report: FieldReport, *, parts: BothParts) -> Cause | None:
    """Why it could not be tested, or None where its readings say how it stands.

    A cause beside readings that pass or fail is no hindrance: the readings decide. Readings
    that do not count because shutoff valve 2 leaks, and no-flow was not shown, are no test
    (EPA 816-R-03-002, ch. 5).
    """
    if parts.fact is not None:
        return None
    if not was_measured(report):
        return report.visit.cause
    deciding = report.final.get(ReadingName.SHUTOFF2_TIGHT) or report.initial.get(
        ReadingName.SHUTOFF2_TIGHT
    )
    if parts.outcome is Outcome.INCOMPLETE and deciding is Word.NO:
        return Cause.SHUTOFF2_LEAKS
    return report.visit.cause


def visit_warnings(
    report: FieldReport, *, hindrance: Cause | None, parts: BothParts
) -> Iterator[str]:
    """Doubts from what stands beside the readings."""
    visit = report.visit
    if visit.cause is not None and hindrance is None:
        yield (
            f"the report says that it could not be tested ({CAUSE_WORDS[visit.cause]}) and its"
            f" readings say {parts.outcome}: the readings decide"
        )
    if visit.signed_by is not None and not visit.signed_by:
        yield "no signature: send it to the tester to be signed"
    if visit.attested is False:
        yield "not attested: the tester has not said that the report is true"
