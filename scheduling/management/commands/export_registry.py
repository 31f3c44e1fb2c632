"""export_registry: a program's registry with its standings, as CSV or JSON."""

import json
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.models import Program
from registry.moments import end_of_day, today_in
from scheduling.loading.exports import as_json_value, export_rows, write_csv


class Command(OfficeCommand):
    help = "Write a program's registry to standard output."
    offers_json = False

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--format", required=True, choices=("csv", "json"))
        parser.add_argument("--as-of", type=iso_date, help="the day the standings are of")
        parser.add_argument(
            "--known-at", type=iso_date, help="as known at the end of that day, not as known now"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']!r}; load one first.")
        as_of = options["as_of"] or today_in(zone=program.zone, now=timezone.now())
        rows = export_rows(
            program=program, as_of=as_of, known_at=end_of_day(program, options["known_at"])
        )
        if options["format"] == "csv":
            write_csv(rows=rows, out=self.stdout)
        else:
            plain = [{name: as_json_value(value) for name, value in row.items()} for row in rows]
            self.stdout.write(json.dumps(plain, ensure_ascii=False, indent=1))
        return Answer(payload=None)
