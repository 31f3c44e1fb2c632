"""Field tests coming in: reports are weighed, kept whole, and what counts becomes a fact."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from registry.changes import Hand, record_batch
from registry.domain.cells import Fault
from registry.domain.formula_guard import unguarded
from registry.domain.kinds import DateOrder
from registry.models import LoadBatch, Program, SetAsideRow
from registry.sheets import Record, Sheet
from reports.actions.stored_tests import StoredTests
from reports.actions.visit_findings import ask_about_visits, settle_known
from reports.domain.assessing import Assessed
from reports.domain.report_columns import ReportColumns, ReportField
from reports.domain.report_rows import FieldReport, read_report
from reports.queries.sheet_headers import WHAT, report_columns
from reports.queries.weighing import Weighing
from scheduling.actions.facts import record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.models import ProgramClock

NEEDED = {ReportField.SERIAL: "the serial number", ReportField.TESTED_ON: "the test date"}
Advance = Callable[[int, int], None]


class NotATestSheetError(ValueError):
    """The sheet lacks a column without which no report can be read; the message says which."""


@dataclass(frozen=True, kw_only=True)
class LoadedFile:
    """Where a sheet came from."""

    name: str
    sha256: str


@dataclass(frozen=True, kw_only=True)
class LoadedTests:
    """What came of a sheet of reports: `stored` counts those kept now for the first time."""

    rows: int
    stored: int
    assessed: tuple[Assessed, ...]
    rejected: tuple[Fault, ...]
    strange: tuple[str, ...]
    again: frozenset[int]
    batch_id: int | None = None

    def plain(self) -> dict[str, object]:
        """The tally as the command prints it."""
        return {
            "rows": self.rows,
            "stored": self.stored,
            "results": [self._plain_one(one) for one in self.assessed],
            "rejected": [fault.as_json() for fault in self.rejected],
        }

    def _plain_one(self, assessed: Assessed) -> dict[str, object]:
        plain = assessed.plain()
        if assessed.report.row in self.again:
            told = "this report is on record already; it is not stored twice"
            plain["warnings"] = [*assessed.warnings, told]
        return plain


def load_field_tests(
    *,
    program: Program,
    sheet: Sheet,
    file: LoadedFile,
    method: str | None,
    as_of: date,
    hand: Hand,
    dry_run: bool = False,
    advance: Advance | None = None,
) -> LoadedTests:
    """Bring in a sheet of reports, all in one transaction; a dry run writes nothing.

    Every readable row is kept, found or not; a report that is on record already is not stored
    twice, but one that did not count is weighed again against today's record. Facts of counting
    reports are recorded and the touched assemblies replayed once.
    Raises NotATestSheetError, NoRulebookError, UnknownMethodError.
    """
    columns = _columns(program=program, sheet=sheet)
    reports, faults = _read(program=program, sheet=sheet, columns=columns, as_of=as_of)
    with transaction.atomic():
        _take_turn(program)
        weighing = Weighing(program=program, method=method, received_on=as_of)
        assessed = weighing.weigh(reports, twins=columns.twins, advance=advance)
        stored = StoredTests(program=program, assessed=assessed)
        batch = None
        if not dry_run:
            batch = _batch(program=program, file=file, sheet=sheet, as_of=as_of, hand=hand)
            _keep(stored, program=program, batch=batch, hand=hand, as_of=as_of)
            ask_about_visits(program=program, batch=batch, assessed=stored.new, on=as_of)
            settle_known([row for row, _ in stored.moved], hand=hand)
            _set_aside(batch=batch, sheet=sheet, faults=faults)
            _close(batch, stored=stored, sheet=sheet, faults=faults, hand=hand)
    return LoadedTests(
        rows=len(sheet.records),
        stored=len(stored.new),
        assessed=tuple(assessed),
        rejected=tuple(faults),
        strange=columns.strange,
        again=stored.again_rows,
        batch_id=batch.pk if batch else None,
    )


def _columns(*, program: Program, sheet: Sheet) -> ReportColumns:
    columns = report_columns(program=program, headers=sheet.headers)
    missing = [words for field, words in NEEDED.items() if field not in columns.fields]
    if missing:
        raise NotATestSheetError(
            f"The sheet has no column for {' and '.join(missing)}, so no report can be read."
        )
    return columns


def _read(
    *, program: Program, sheet: Sheet, columns: ReportColumns, as_of: date
) -> tuple[list[FieldReport], list[Fault]]:
    reports: list[FieldReport] = []
    faults: list[Fault] = []
    order = DateOrder(program.date_order)
    for record in sheet.records:
        fault = _broken(record)
        if fault:
            faults.append(fault)
            continue
        raw = [unguarded(cell) for cell in record.cells]
        cells = dict(zip(sheet.headers, raw, strict=True))
        found = read_report(row=record.row, cells=cells, columns=columns, order=order, as_of=as_of)
        if isinstance(found, FieldReport):
            reports.append(found)
        else:
            faults += found
    return reports, faults


def _broken(record: Record) -> Fault | None:
    if record.fault:
        return Fault(row=record.row, column=None, value=None, message=record.fault)
    if record.extra:
        message = (
            "the row has more cells than the header; a figure with a comma must stand in quotes"
        )
        return Fault(row=record.row, column=None, value=", ".join(record.extra), message=message)
    return None


def _take_turn(program: Program) -> None:
    """Two loads of one program take turns, so that no report is stored twice."""
    ProgramClock.objects.get_or_create(program=program)
    ProgramClock.objects.select_for_update().get(program=program)


def _batch(
    *, program: Program, file: LoadedFile, sheet: Sheet, as_of: date, hand: Hand
) -> LoadBatch:
    return LoadBatch.objects.create(
        program=program,
        what=WHAT,
        file_name=file.name[:300],
        file_sha256=file.sha256,
        as_of=as_of,
        at=hand.at,
        by=hand.by,
        headers=list(sheet.headers),
    )


def _keep(
    stored: StoredTests,
    *,
    program: Program,
    batch: LoadBatch,
    hand: Hand,
    as_of: date,
) -> None:
    new_facts = stored.facts()
    facts = record_facts(
        program=program, facts=new_facts, recorded_at=hand.at, by=hand.by, batch=batch
    )
    by_digest = {fact.source_ref: fact for fact in facts}
    stored.keep(batch=batch, hand=hand, facts=by_digest)
    touched = {fact.its_assembly_id for fact in facts}
    if touched:
        replay_assemblies(program=program, assembly_ids=touched, as_of=as_of)


def _set_aside(*, batch: LoadBatch, sheet: Sheet, faults: Sequence[Fault]) -> None:
    by_row: dict[int, list[Fault]] = {}
    for fault in faults:
        by_row.setdefault(fault.row, []).append(fault)
    SetAsideRow.objects.bulk_create(
        [
            SetAsideRow(
                batch=batch,
                row=record.row,
                cells=[*record.cells, *record.extra],
                faults=[fault.as_json() for fault in by_row[record.row]],
            )
            for record in sheet.records
            if record.row in by_row
        ],
        batch_size=500,
    )


def _close(
    batch: LoadBatch, *, stored: StoredTests, sheet: Sheet, faults: Sequence[Fault], hand: Hand
) -> None:
    tally: Mapping[str, int] = {
        "rows": len(sheet.records),
        "stored": len(stored.new),
        "rejected": len({fault.row for fault in faults}),
    }
    batch.tally = dict(tally)
    batch.save(update_fields=["tally"])
    differences = stored.differences()
    if differences:
        record_batch(hand=hand, batch=batch, differences=differences)
