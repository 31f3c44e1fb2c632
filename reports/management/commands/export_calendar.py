"""`export_calendar`: a tester's stops of the latest plan as RFC 5545 text."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused
from registry.models import Program
from reports.calendars import calendar_text
from reports.queries.calendar_stops import kept_as_planned, stops_to_show, testers_with


class Command(OfficeCommand):
    """Writes the calendar to standard output, lines ended by CR LF as the format asks."""

    help = "Write a tester's planned stops as a calendar (RFC 5545)."
    offers_json = False

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--tester", required=True, help="the tester's certificate number")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']!r}.")
        certificate = options["tester"].strip()
        testers = testers_with(program=program, certificate=certificate)
        if not testers.exists():
            raise Refused(f"{program.code} has no tester with certificate {certificate!r}.")
        stops = stops_to_show(program=program, testers=testers)
        text = calendar_text(kept_as_planned(stops), name=f"Rounds of {testers[0].name}")
        self.stdout.write(text, ending="")
        return Answer(payload=None)
