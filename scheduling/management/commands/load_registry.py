"""load_registry: a spreadsheet of assemblies into a program."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.console import Answer, OfficeCommand, Refused, iso_date, progress_on_stderr
from registry.source_files import LoadRefusedError, source_file
from scheduling.loading.openings import Wanted
from scheduling.loading.registry_load import STEPS, load_registry

BY = "load_registry"


class Command(OfficeCommand):
    help = "Bring a spreadsheet of assemblies (CSV or XLSX) into a program."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--rulebook", help="of a new program; plain-rolling unless named")
        parser.add_argument("--zone", help="of a new program; UTC unless named")
        parser.add_argument("--as-of", type=iso_date, help="a new program becomes a trial")
        parser.add_argument("--dry-run", action="store_true", help="say it, change nothing")

    def perform(self, options: dict[str, Any]) -> Answer:
        wanted = Wanted(
            code=options["program"],
            rulebook=options["rulebook"],
            zone=options["zone"],
            as_of=options["as_of"],
        )
        try:
            with progress_on_stderr("Loading the registry") as advance:
                report = load_registry(
                    source=source_file(options["file"]),
                    wanted=wanted,
                    now=timezone.now(),
                    by=BY,
                    dry_run=options["dry_run"],
                    told=lambda step: advance(STEPS.index(step), len(STEPS)),
                )
        except LoadRefusedError as refusal:
            raise Refused(str(refusal)) from refusal
        lines = report.lines()
        if options["dry_run"]:
            lines.append("Dry run: nothing was changed.")
        return Answer(payload=report.as_json(), lines=lines, clean=not report.rejected)
