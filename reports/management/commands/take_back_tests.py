"""`take_back_tests`: take back what one file of reports brought, where nothing depends on it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.changes import Hand
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.models import Program
from registry.moments import recording_moment, today_in
from reports.actions.taking_back import TakeBackError, take_back_tests

BY = "take_back_tests"


class Command(OfficeCommand):
    """Withdraws the facts of a file with a reason, and replays what they touched."""

    help = "Take back a file of field tests as a whole."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("batch", type=int, help="the number that load_tests told")
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--reason", default="", help="why; kept with every fact")
        parser.add_argument("--by", default=BY, help="who takes it back")
        parser.add_argument("--as-of", type=iso_date, help="the day it is; today by default")
        parser.add_argument("--dry-run", action="store_true", help="count, and change nothing")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"No program has the code {options['program']!r}.")
        now = timezone.now()
        as_of = options["as_of"] or today_in(zone=program.zone, now=now)
        at = recording_moment(program=program, as_of=as_of, now=now)
        try:
            tally = take_back_tests(
                program=program,
                batch_id=options["batch"],
                as_of=as_of,
                hand=Hand(by=options["by"], at=at, reason=options["reason"]),
                dry_run=options["dry_run"],
            )
        except TakeBackError as error:
            raise Refused(" ".join([error.message, *error.depends])) from error
        verb = "would be taken back" if options["dry_run"] else "taken back"
        line = (
            f"{tally.reports} reports {verb}, {tally.facts} facts,"
            f" {tally.assemblies} assemblies replayed."
        )
        return Answer(payload={"batch": options["batch"], **tally.plain()}, lines=[line])
