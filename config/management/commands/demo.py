"""Loads the demo into the database at hand: `make demo`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from config.demo.district import SOLVER_SECONDS
from config.demo.steps import Demo, steps
from config.demo.summary import login_lines, summary_lines
from registry.console import Answer, OfficeCommand


class Command(OfficeCommand):
    help = "Load an invented district, run its day, plan a week, judge a batch of field tests."
    offers_json = False
    # It makes the tables itself; checks that look into them would come too early.
    requires_migrations_checks = False

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--folder", type=Path, default=Path("var/demo"))
        parser.add_argument("--place", default="", help="live by the rulebook of a place")
        parser.add_argument(
            "--seconds", type=int, default=SOLVER_SECONDS, help="how long to plan the week"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        demo = Demo(
            folder=options["folder"], place=options["place"], solver_seconds=options["seconds"]
        )
        for step in steps():
            self.stderr.write(f"{step.words} …")
            step.run(demo)
        return Answer(payload=None, lines=[*summary_lines(demo), *login_lines()])
