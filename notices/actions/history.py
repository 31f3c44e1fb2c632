"""An office that switches brings its past as stated: tests, extensions, letters that left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.db import transaction

from notices.actions.past_facts import PastFacts
from notices.actions.past_letters import PastLetters
from notices.domain.past_rows import PAST_HEADERS, PastKind, StatedPast, read_past_row
from registry.changes import Hand, record_batch
from registry.domain.cells import Fault
from registry.domain.headers import ColumnMap, recognise
from registry.domain.kinds import DateOrder
from registry.header_hints import unread_columns
from registry.load_reports import LoadReport
from registry.models import LoadBatch, Program, SavedHeader, SetAsideRow
from registry.moments import recording_moment
from registry.queries.serials import SerialBook
from registry.sheets import Record, Sheet
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.ladders import Ladder
from scheduling.queries.rulebooks import NoRulebookError, rulebook_in_force

WHAT = "history"


class _DryRun(Exception):  # noqa: N818 (it rolls back, and is no error)
    """Everything was done and is undone."""


@dataclass(frozen=True, kw_only=True)
class HistoryReport:
    """What a file of the past brought. `rows` = created + unchanged + rows set aside."""

    base: LoadReport
    tests: int
    letters: int
    extensions: int

    def as_json(self) -> dict[str, Any]:
        """The object the command prints: that of every load, with what was brought."""
        brought = {"tests": self.tests, "letters": self.letters, "extensions": self.extensions}
        return {**self.base.as_json(), "brought": brought}

    def lines(self) -> list[str]:
        """The report for people."""
        return [
            f"{self.tests:>8,}  tests",
            f"{self.letters:>8,}  letters that had left",
            f"{self.extensions:>8,}  extensions",
            *self.base.lines(),
        ]


def load_history(
    *,
    source: SourceFile,
    program: Program,
    as_of: date,
    now: datetime,
    by: str,
    dry_run: bool = False,
) -> HistoryReport:
    """Bring a file of the past into a program; rows with faults are set aside.

    Tests and extensions are recorded as stated facts and replayed; each letter then counts for
    the obligation its day belongs to, and one that fits none is set aside and told. The same
    file again changes nothing. Raises LoadRefusedError.
    """
    reports: list[HistoryReport] = []
    try:
        with transaction.atomic():
            Program.objects.select_for_update().get(pk=program.pk)
            at = recording_moment(program=program, as_of=as_of, now=now)
            hand = Hand(by=by, at=at, reason=f"Load of {source.name}"[:500])
            reports.append(_load(source=source, program=program, as_of=as_of, hand=hand))
            if dry_run:
                raise _DryRun
    except _DryRun:
        pass
    return reports[0]


def _load(*, source: SourceFile, program: Program, as_of: date, hand: Hand) -> HistoryReport:
    sheet = source.sheet()
    columns = _columns(sheet=sheet, program=program)
    try:
        ladder = rulebook_in_force(program=program, on=as_of).ladder
    except NoRulebookError as error:
        raise LoadRefusedError(str(error)) from error
    rows = _rows(sheet=sheet, columns=columns, program=program, as_of=as_of, ladder=ladder)
    rows, meant = _matched(rows, columns=columns, program=program)
    batch = _batch(source=source, program=program, as_of=as_of, hand=hand)
    facts = PastFacts(program=program, rows=rows, meant=meant)
    facts.record(batch=batch, hand=hand)
    if facts.touched:
        replay_assemblies(program=program, assembly_ids=facts.touched, as_of=as_of)
    letters = PastLetters(program=program, rows=rows, meant=meant, ladder=ladder)
    letters.record(batch=batch, hand=hand, source=source.name)
    rows = _with_faults(rows, letters.unfit, column=columns.header_of("on"))
    created = facts.created | letters.created
    report = _report(rows=rows, columns=columns, sheet=sheet, created=created)
    warnings = [*report.base.warnings, *facts.warnings, *letters.warnings]
    base = replace(report.base, warnings=sorted(warnings, key=lambda one: one.row))
    report = replace(report, base=base)
    _keep(batch=batch, report=report, rows=rows, hand=hand, created=created)
    return report


def _columns(*, sheet: Sheet, program: Program) -> ColumnMap:
    saved = SavedHeader.objects.filter(program=program, what=WHAT)
    columns = recognise(
        headers=sheet.headers,
        synonyms=PAST_HEADERS,
        saved=dict(saved.values_list("header", "field")),
    )
    if not columns.brings("serial") or not columns.brings("on"):
        raise LoadRefusedError(
            "A past needs a column of serials and a column of days, and this file has not both: "
            f"{', '.join(sheet.headers[:12])}. Name the columns in the first row."
        )
    return columns


def _rows(
    *, sheet: Sheet, columns: ColumnMap, program: Program, as_of: date, ladder: Ladder
) -> list[StatedPast]:
    order = DateOrder(program.date_order)

    def read(record: Record) -> StatedPast:
        if record.fault or record.extra:
            message = record.fault or "The row has more cells than the header; name the column."
            value = record.cells[0] if record.fault else " | ".join(record.extra)
            fault = Fault(row=record.row, column=None, value=value, message=message)
            return StatedPast(row=record.row, cells=record.cells, faults=(fault,))
        return read_past_row(
            row=record.row,
            cells=dict(zip(sheet.headers, record.cells, strict=True)),
            columns=columns,
            order=order,
            as_of=as_of,
            ladder=ladder,
        )

    return [read(record) for record in sheet.records]


def _matched(
    rows: Sequence[StatedPast], *, columns: ColumnMap, program: Program
) -> tuple[list[StatedPast], dict[int, int]]:
    """The rows, and by row number the assembly meant; what means none or several is set aside."""
    book = SerialBook(program=program, serials={row.serial for row in rows})
    meant: dict[int, int] = {}
    faults: dict[int, str] = {}
    for row in rows:
        if row.faults:
            continue
        found = book.meant(serial=row.serial, maker=row.maker)
        if len(found) == 1:
            meant[row.row] = found[0].assembly_id
        elif found:
            makers = ", ".join(named.maker or "(no maker)" for named in found)
            faults[row.row] = f"The serial is known under several makers: {makers}. Name one."
        else:
            faults[row.row] = "No assembly on record has this serial; load the registry first."
    return _with_faults(rows, faults, column=columns.header_of("serial")), meant


def _with_faults(
    rows: Sequence[StatedPast], faults: dict[int, str], *, column: str | None
) -> list[StatedPast]:
    return [
        replace(row, faults=(*row.faults, _at(row, column=column, message=faults[row.row])))
        if row.row in faults
        else row
        for row in rows
    ]


def _at(row: StatedPast, *, column: str | None, message: str) -> Fault:
    is_day = column is not None and message.startswith("The letter")
    value = row.on.isoformat() if is_day and row.on else row.serial
    return Fault(row=row.row, column=column, value=value, message=message)


def _batch(*, source: SourceFile, program: Program, as_of: date, hand: Hand) -> LoadBatch:
    return LoadBatch.objects.create(
        program=program,
        what=WHAT,
        file_name=source.name[:300],
        file_sha256=source.digest,
        as_of=as_of,
        at=hand.at,
        by=hand.by,
    )


def _report(
    *, rows: Sequence[StatedPast], columns: ColumnMap, sheet: Sheet, created: set[int]
) -> HistoryReport:
    rejected = [fault for row in rows for fault in row.faults]
    brought = [row.kind for row in rows if row.row in created]
    warnings = [
        *(Fault(row=1, column=None, value=None, message=note) for note in sheet.notes),
        *unread_columns(columns=columns, synonyms=PAST_HEADERS),
    ]
    aside = len({fault.row for fault in rejected})
    base = LoadReport(
        rows=len(rows),
        created=len(created),
        updated=0,
        unchanged=len(rows) - aside - len(created),
        rejected=rejected,
        warnings=warnings,
        columns=columns.public(),
    )
    return HistoryReport(
        base=base,
        tests=brought.count(PastKind.PASSED) + brought.count(PastKind.FAILED),
        letters=brought.count(PastKind.LETTER),
        extensions=brought.count(PastKind.EXTENDED),
    )


def _keep(
    *,
    batch: LoadBatch,
    report: HistoryReport,
    rows: Sequence[StatedPast],
    hand: Hand,
    created: set[int],
) -> None:
    """Keep the batch with its set-aside rows; of a file seen before that did nothing, none."""
    seen = LoadBatch.objects.filter(
        program=batch.program, what=WHAT, file_sha256=batch.file_sha256
    ).exclude(pk=batch.pk)
    if not created and seen.exists():
        batch.delete()
        return
    batch.tally = {**report.base.tally(), **report.as_json()["brought"]}
    batch.headers, batch.columns = list(report.base.columns), dict(report.base.columns)
    batch.save(update_fields=["tally", "headers", "columns"])
    SetAsideRow.objects.bulk_create(
        SetAsideRow(
            batch=batch,
            row=row.row,
            cells=list(row.cells),
            faults=[fault.as_json() for fault in row.faults],
        )
        for row in rows
        if row.faults
    )
    if created:
        lines = [
            {"row": row.row, "serial": row.serial, "what": row.kind, "on": str(row.on)}
            for row in rows
            if row.row in created
        ]
        record_batch(hand=hand, batch=batch, differences=lines)
