"""load_history: an office's past tests, letters and extensions, as stated."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from notices.actions.history import load_history
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.models import Program
from registry.moments import today_in
from registry.source_files import LoadRefusedError, source_file

BY = "load_history"


class Command(OfficeCommand):
    help = "Bring an office's past (CSV or XLSX): tests, letters that left, extensions."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--as-of", type=iso_date, help="the day the office switches")
        parser.add_argument("--dry-run", action="store_true", help="say it, change nothing")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']!r}; load its registry first.")
        now = timezone.now()
        try:
            report = load_history(
                source=source_file(options["file"]),
                program=program,
                as_of=options["as_of"] or today_in(zone=program.zone, now=now),
                now=now,
                by=BY,
                dry_run=options["dry_run"],
            )
        except LoadRefusedError as refusal:
            raise Refused(str(refusal)) from refusal
        lines = report.lines()
        if options["dry_run"]:
            lines.append("Dry run: nothing was changed.")
        return Answer(payload=report.as_json(), lines=lines, clean=not report.base.rejected)
