"""`seal_ledger`: write what is new into the ledger, and seal it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.console import Answer, OfficeCommand, Refused
from registry.models import Program
from registry.moments import today_in
from reports.ledger.sealing import seal


class Command(OfficeCommand):
    help = "Write what is new into the ledger and seal it. The office's clock does so nightly."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, metavar="CODE")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']}.")
        now = timezone.now()
        sealed = seal(program, on=today_in(zone=program.zone, now=now), at=now)
        payload = {"program": program.code, "new": sealed.new, "head": sealed.head}
        return Answer(payload=payload, lines=[f"{sealed.new:,} new entries.", sealed.head])
