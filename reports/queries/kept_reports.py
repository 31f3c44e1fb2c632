"""A stored report read again from its kept cells, as it was read when it came."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from registry.domain.kinds import DateOrder
from registry.models import Program
from reports.domain.readings import ReadingName
from reports.domain.report_rows import FieldReport, read_report
from reports.models import FieldTest
from reports.queries.sheet_headers import report_columns


class UnreadableReportError(ValueError):
    """A kept report that cannot be read any more; the message says why."""


@dataclass(frozen=True, kw_only=True)
class KeptReport:
    """The report, and the readings that had a column of their own after repair."""

    report: FieldReport
    twins: frozenset[ReadingName]


def kept_headers(test: FieldTest) -> list[str]:
    """The headers of the report's sheet, in its order."""
    headers = list(test.batch.headers) if test.batch else list(test.cells)
    return [name for name in headers if name in test.cells]


def kept_report(test: FieldTest, *, program: Program, as_of: date) -> KeptReport:
    """Read a stored report again. Raises UnreadableReportError."""
    columns = report_columns(program=program, headers=kept_headers(test))
    report = read_report(
        row=0,
        cells=test.cells,
        columns=columns,
        order=DateOrder(program.date_order),
        as_of=max(as_of, test.tested_on),
    )
    if not isinstance(report, FieldReport):
        told = "; ".join(fault.message for fault in report)
        raise UnreadableReportError(f"The report cannot be read any more: {told}")
    return KeptReport(report=report, twins=columns.twins)
