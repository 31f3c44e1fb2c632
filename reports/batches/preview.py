"""What a file of reports would do, or did: counted, and its faults sorted by kind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from registry.domain.cells import Fault
from registry.models import LoadBatch
from registry.sheets import Sheet
from reports.actions.fieldtests import LoadedTests
from reports.domain.fault_kinds import FaultKind, RowFault, by_kind
from reports.domain.verdicts import Outcome
from reports.models import FieldTest


@dataclass(frozen=True, kw_only=True)
class BatchTold:
    """The counts of a file, and what to look at, the gravest first."""

    rows: int
    stored: int
    again: int
    counting: int
    passing: int
    failing: int
    set_aside: int
    faults: list[FaultKind]
    not_counting: list[FaultKind]
    warnings: list[FaultKind]
    unused: tuple[str, ...] = ()


def told_of_load(loaded: LoadedTests) -> BatchTold:
    """What a dry run, or a load just made, has to say."""
    counting = [one for one in loaded.assessed if one.counts]
    return BatchTold(
        rows=loaded.rows,
        stored=loaded.stored,
        again=len(loaded.again),
        counting=len(counting),
        passing=sum(one.outcome is Outcome.PASS for one in counting),
        failing=sum(one.outcome is Outcome.FAIL for one in counting),
        set_aside=len({one.row for one in loaded.rejected}),
        faults=by_kind(_fault(one) for one in loaded.rejected),
        not_counting=by_kind(
            RowFault(row=one.report.row, value=one.report.serial, message=reason)
            for one in loaded.assessed
            if not one.counts
            for reason in mends_of(one.reasons)
        ),
        warnings=by_kind(
            RowFault(row=one.report.row, value=one.report.serial, message=warning)
            for one in loaded.assessed
            for warning in one.warnings
        ),
        unused=loaded.strange,
    )


def mends_of(reasons: Sequence[object]) -> list[str]:
    """Of a report that does not count the reasons why: the headline says only that it does not.

    What the criteria say stands in its verdict, and is no fault of the sheet.
    """
    told = [str(one) for one in reasons]
    why = [one for one in told if not _is_headline(one) and not _is_of_readings(one)]
    return why or told[:1]


def _is_headline(reason: str) -> bool:
    return "does not count" in reason and reason.startswith("It ")


def _is_of_readings(reason: str) -> bool:
    return "is asked for" in reason or "Every criterion is met" in reason


def _fault(fault: Fault) -> RowFault:
    return RowFault(
        row=fault.row,
        column=fault.column or "",
        value=fault.value or "",
        message=fault.message,
    )


def rows_to_mend(loaded: LoadedTests, sheet: Sheet) -> Iterator[tuple[Sequence[str], str]]:
    """The cells of every row that would not land or not count, with the sentences why."""
    why: dict[int, list[str]] = {}
    for fault in loaded.rejected:
        why.setdefault(fault.row, []).append(told_of_fault(fault.as_json()))
    for one in loaded.assessed:
        if not one.counts:
            why.setdefault(one.report.row, []).extend(mends_of(one.reasons))
    for record in sheet.records:
        if record.row in why:
            yield (*record.cells, *record.extra), " ".join(why[record.row])


def told_of_fault(fault: dict[str, object] | dict[str, str | int | None]) -> str:
    """A fault as the column "why" says it."""
    column, message = fault.get("column"), str(fault.get("message", ""))
    return f"{column}: {message}" if column else message


def kept_rows_to_mend(batch: LoadBatch) -> Iterator[tuple[Sequence[str], str]]:
    """The same of a file that was brought in: rows set aside, then reports that do not count."""
    for aside in batch.set_aside.all():
        cells = [str(one) for one in aside.cells]
        yield cells, " ".join(told_of_fault(one) for one in aside.faults)
    headers = [str(one) for one in batch.headers]
    for test in FieldTest.objects.filter(batch=batch, counts=False).order_by("pk"):
        cells = [str(test.cells.get(header, "")) for header in headers]
        yield cells, " ".join(mends_of(test.reasons))


def kept_not_counting(batch: LoadBatch) -> list[FaultKind]:
    """Why reports of a file that was brought in do not count, by kind; rows are their serials."""
    tests = FieldTest.objects.filter(batch=batch, counts=False).order_by("pk")
    return by_kind(
        RowFault(row=test.pk, value=test.serial, message=reason)
        for test in tests
        for reason in mends_of(test.reasons)
    )
