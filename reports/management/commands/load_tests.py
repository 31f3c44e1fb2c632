"""`load_tests`: bring in test reports, judge them, and let what counts move standings."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.changes import Hand
from registry.console import Answer, OfficeCommand, Refused, iso_date, progress_on_stderr
from registry.models import Program
from registry.moments import recording_moment, today_in
from registry.sheets import Sheet, UnreadableSheetError, read_sheet
from reports.actions.fieldtests import (
    LoadedFile,
    LoadedTests,
    NotATestSheetError,
    load_field_tests,
)
from reports.domain.verdicts import Outcome
from reports.queries.methods import UnknownMethodError, limits_in
from scheduling.queries.rulebooks import NoRulebookError

BY = "load_tests"


class Command(OfficeCommand):
    """Stores every readable report; says which count, which are doubtful, and why."""

    help = "Load field test reports from a CSV or XLSX file into a program."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="CSV or XLSX with a row per report")
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--method", help="acceptance limits; the rulebook's by default")
        parser.add_argument("--as-of", type=iso_date, help="the day it is; today by default")
        parser.add_argument("--dry-run", action="store_true", help="judge, and change nothing")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"No program has the code {options['program']!r}.")
        path: Path = options["file"]
        sheet = self._sheet(path)
        now = timezone.now()
        as_of = options["as_of"] or today_in(zone=program.zone, now=now)
        hand = Hand(by=BY, at=recording_moment(program=program, as_of=as_of, now=now))
        try:
            if options["method"]:
                limits_in(program, name=options["method"])
            with progress_on_stderr("Reports") as advance:
                loaded = load_field_tests(
                    program=program,
                    sheet=sheet,
                    file=LoadedFile(name=path.name, sha256=_sha256(path)),
                    method=options["method"],
                    as_of=as_of,
                    hand=hand,
                    dry_run=options["dry_run"],
                    advance=advance,
                )
        except (NotATestSheetError, NoRulebookError, UnknownMethodError) as error:
            raise Refused(str(error)) from error
        if loaded.strange:
            self.stderr.write(f"Not read: {', '.join(loaded.strange)}.")
        return Answer(
            payload=loaded.plain(),
            lines=_lines(loaded, dry_run=options["dry_run"]),
            clean=not loaded.rejected and not _refused(loaded),
        )

    def _sheet(self, path: Path) -> Sheet:
        try:
            sheet = read_sheet(path)
        except UnreadableSheetError as error:
            raise Refused(str(error)) from error
        for note in sheet.notes:
            self.stderr.write(note)
        return sheet


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _refused(loaded: LoadedTests) -> bool:
    return any(one.outcome is Outcome.REFUSED for one in loaded.assessed)


def _lines(loaded: LoadedTests, *, dry_run: bool) -> list[str]:
    lines = []
    for one in loaded.assessed:
        outcome = one.outcome.value if one.outcome else "not found"
        if one.outcome is Outcome.PASS and one.counts and not one.warnings:
            continue
        counts = "counts" if one.counts else "does not count"
        lines.append(f"row {one.report.row}, {one.report.serial}: {outcome}, {counts}")
        lines += [f"    {reason}" for reason in one.reasons]
        lines += [f"    look at: {warning}" for warning in one.warnings]
    for fault in loaded.rejected:
        where = f", {fault.column} {fault.value!r}" if fault.column else ""
        lines.append(f"row {fault.row}{where}: rejected: {fault.message}")
    counting = sum(one.counts for one in loaded.assessed)
    verb = "would be stored" if dry_run else "stored"
    rejected = len({fault.row for fault in loaded.rejected})
    lines.append(
        f"{loaded.rows} rows: {loaded.stored} {verb}, {counting} count, {rejected} rejected."
    )
    if loaded.batch_id:
        lines.append(f"File {loaded.batch_id}: take_back_tests {loaded.batch_id} takes it back.")
    return lines
