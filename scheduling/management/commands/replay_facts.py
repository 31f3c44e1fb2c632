"""`replay_facts`: a calculator of due dates on a sheet of facts, without a database."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.domain.cells import Fault
from registry.sheets import Record, Sheet, UnreadableSheetError, read_sheet
from scheduling.domain.explanation import Explanation, explain_ledger
from scheduling.domain.fact_sheet import (
    NEEDED,
    FactSheet,
    SheetRow,
    SheetSubject,
    columns_of,
    read_fact_sheet,
)
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from scheduling.queries.shipped import UnknownRulebookError, shipped_rulebook


class Command(OfficeCommand):
    """Works out standing, due dates, next rung and reasons for each assembly of a file."""

    help = "Work out what is owed from a sheet of facts, under a named rulebook (no database)."
    requires_system_checks: list[str] = []

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="CSV or XLSX with a row per fact")
        parser.add_argument("--rulebook", required=True, help="plain-rolling, plain-anniversary …")
        parser.add_argument("--as-of", required=True, type=iso_date, help="the day asked about")

    def perform(self, options: dict[str, Any]) -> Answer:
        rulebook, as_of = _rulebook(options["rulebook"]), options["as_of"]
        sheet = _sheet(options["file"])
        columns = columns_of(sheet.headers)
        missing = [name for name in NEEDED if name not in columns]
        if missing:
            listed = " and ".join(missing)
            raise Refused(f"{options['file'].name} has no column {listed}: nothing can be said.")
        rows = [_row(sheet, record) for record in sheet.records]
        facts = read_fact_sheet(columns=columns, rows=rows, as_of=as_of)
        self._tell(sheet, facts, known=list(columns.values()))
        found = [
            _explained(subject, rulebook=rulebook, as_of=as_of)
            for subject in facts.subjects.values()
        ]
        return Answer(
            payload=[explanation.to_json() for explanation in found],
            lines=_lines(found, rulebook=rulebook, as_of=as_of),
            clean=facts.is_clean,
        )

    def _tell(self, sheet: Sheet, facts: FactSheet, *, known: Sequence[str]) -> None:
        for note in sheet.notes:
            self.stderr.write(note)
        strange = [header for header in sheet.headers if header not in known]
        if strange:
            self.stderr.write(f"Not read: {', '.join(strange)}.")
        for fault in facts.set_aside:
            self.stderr.write(f"set aside: {_place(fault)}")
        for fault in facts.ignored:
            self.stderr.write(f"ignored: {_place(fault)}")


def _rulebook(name: str) -> Rulebook:
    try:
        return shipped_rulebook(name)
    except UnknownRulebookError as error:
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
            f"more cells than the header ({', '.join(record.extra)}): put a text with a comma"
            " in quotes."
        )
    cells = dict(zip(sheet.headers, record.cells, strict=True))
    return SheetRow(row=record.row, cells=cells, fault=fault)


def _explained(subject: SheetSubject, *, rulebook: Rulebook, as_of: date) -> Explanation:
    timeline = Timeline(
        attributes=(AttributesFrom(on=date.min, attributes=subject.attributes),),
        rulebooks=(RulebookFrom(on=date.min, rulebook=rulebook),),
        recorded_on=as_of,
    )
    ledger = replay(timeline=timeline, facts=subject.facts, left={}, as_of=as_of)
    return explain_ledger(
        assembly=subject.name, ledger=ledger, ladder=rulebook.ladder, warnings=subject.warnings
    )


def _place(fault: Fault) -> str:
    where = f"row {fault.row}"
    if fault.column is not None:
        where = f"{where}, column {fault.column}, value {fault.value!r}"
    return f"{where}: {fault.message}"


def _lines(found: Sequence[Explanation], *, rulebook: Rulebook, as_of: date) -> list[str]:
    lines = [f"{rulebook.title}, as of {as_of}. An example: verify against local code."]
    for each in found:
        due = f", due {each.due_on}" if each.due_on else ""
        rung = f", next {each.rung} on {each.rung_on}" if each.rung else ""
        lines.append(f"{each.assembly}: {each.standing}{due}{rung}")
        lines += [f"    {reason.arithmetic}  ({reason.citation})" for reason in each.reasons]
        lines += [f"    look at: {warning}" for warning in each.warnings]
    counts = Counter(each.standing.value for each in found)
    lines.append(
        ", ".join(f"{count} {name}" for name, count in sorted(counts.items())) or "No row."
    )
    return lines
