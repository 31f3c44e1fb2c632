"""`judge`: hold a sheet of readings against a method's acceptance limits, without a database."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused
from registry.sheets import Record, Sheet, UnreadableSheetError, read_sheet
from reports.domain.judging_sheet import ID, TYPE, JudgedRow, SheetRow, judge_rows, known_columns
from reports.domain.limits import Limits
from reports.domain.verdicts import Outcome
from reports.queries.methods import UnknownMethodError, limits_of, method_names


class Command(OfficeCommand):
    """Judges each row of a CSV or XLSX file and says why."""

    help = "Judge a sheet of gauge readings by a method's acceptance limits (no database)."
    requires_system_checks: list[str] = []

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="CSV or XLSX with a row per test")
        known = ", ".join(method_names())
        parser.add_argument("--method", required=True, help=f"one of {known}")
        parser.add_argument(
            "--also", action="append", default=[], help="another method to judge by as well"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        limits = _limits(options["method"])
        also = [_limits(name) for name in options["also"]]
        sheet = _sheet(options["file"])
        columns = known_columns(sheet.headers)
        missing = [name for name in (ID, TYPE) if name not in columns]
        if missing:
            listed = " and ".join(missing)
            raise Refused(f"{options['file'].name} has no column {listed}: nothing can be judged.")
        self._tell(sheet, columns.values())
        rows = [_row(sheet, record) for record in sheet.records]
        judged = list(judge_rows(limits=limits, columns=columns, rows=rows, also=also))
        refused = any(row.verdict.outcome is Outcome.REFUSED for row in judged)
        return Answer(
            payload=[row.plain() for row in judged],
            lines=_lines(judged, limits=limits),
            clean=not refused,
        )

    def _tell(self, sheet: Sheet, known: Any) -> None:
        for note in sheet.notes:
            self.stderr.write(note)
        strange = [header for header in sheet.headers if header not in set(known)]
        if strange:
            self.stderr.write(f"Not read: {', '.join(strange)}.")


def _limits(name: str) -> Limits:
    try:
        return limits_of(name)
    except UnknownMethodError as error:
        raise Refused(str(error)) from error


def _sheet(path: Path) -> Sheet:
    try:
        return read_sheet(path)
    except UnreadableSheetError as error:
        raise Refused(str(error)) from error


def _row(sheet: Sheet, record: Record) -> SheetRow:
    fault = record.fault or ""
    if not fault and record.extra:
        fault = (
            f"row {record.row} has more cells than the header ({', '.join(record.extra)}):"
            ' a figure with a comma must stand in quotes, as "2,0"'
        )
    return SheetRow(cells=dict(zip(sheet.headers, record.cells, strict=True)), fault=fault)


def _lines(judged: Sequence[JudgedRow], *, limits: Limits) -> list[str]:
    lines = [f"Judged by {limits.title}, {limits.name}. {limits.caution}"]
    for row in judged:
        lines.append(f"{row.test_id or '(no id)'}: {row.verdict.outcome}")
        lines += [f"    {reason}" for reason in row.verdict.reasons]
        lines += [f"    look at: {warning}" for warning in row.verdict.warnings]
        lines += [f"    {row.both_ways(limits.name)}"] if row.also else []
    counts = Counter(row.verdict.outcome.value for row in judged)
    lines.append(
        ", ".join(f"{count} {name}" for name, count in sorted(counts.items())) or "No row."
    )
    return lines
