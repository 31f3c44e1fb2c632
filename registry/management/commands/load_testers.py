"""load_testers: a list of testers with their certificates and gauges into a program."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.actions.tester_load import load_testers
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.models import Program
from registry.moments import today_in
from registry.source_files import LoadRefusedError, source_file

BY = "load_testers"


class Command(OfficeCommand):
    help = "Bring a list of testers (CSV or XLSX) into a program."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--as-of", type=iso_date, help="the day of the load")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']!r}; load its registry first.")
        now = timezone.now()
        as_of = options["as_of"] or today_in(zone=program.zone, now=now)
        try:
            report = load_testers(
                source=source_file(options["file"]), program=program, as_of=as_of, now=now, by=BY
            )
        except LoadRefusedError as refusal:
            raise Refused(str(refusal)) from refusal
        return Answer(payload=report.as_json(), lines=report.lines(), clean=not report.rejected)
