"""`check_ledger`: compare what is stored with what the ledger says was recorded."""

from __future__ import annotations

import re
from itertools import chain
from typing import Any

from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused
from registry.models import Program
from reports.ledger.checking import differences
from reports.ledger.erased import Erased
from reports.ledger.picture_sources import removals_told
from reports.ledger.recomputing import wrong_dates, wrong_verdicts
from reports.ledger.sealing import head_of
from reports.ledger.taken_back import TakenBack
from reports.models import LedgerEntry

ALL = "all"


class Command(OfficeCommand):
    help = "Recompute hashes, seals, due dates and verdicts, and name every difference."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", default=ALL, metavar="CODE|all")
        parser.add_argument(
            "--head", default="", metavar="HASH", help="a head printed earlier: SIZE:ROOT, or ROOT"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        head = "".join(options["head"].split()).lower()
        if head and not re.fullmatch(r"(\d+:)?[0-9a-f]{64}", head):
            raise Refused("A head is SIZE:ROOT, the root of 64 hexadecimal digits.")
        programs = list(Program.objects.order_by("code"))
        if options["program"] != ALL:
            programs = [one for one in programs if one.code == options["program"]]
            if not programs:
                raise Refused(f"There is no program {options['program']}.")
        if head and len(programs) != 1:
            raise Refused("A head is that of one program: name it with --program.")
        said = [_checked(program, head=head) for program in programs]
        found = [line for one in said for line in one["differences"]]
        lines = found or [f"{one['program']}: {one['entries']:,} entries hold." for one in said]
        for one in said:
            lines += [*one["taken_back"], *one["erased"], *one["removed"]]
        payload = said if options["program"] == ALL else said[0]
        return Answer(payload=payload, lines=lines, clean=not found)


def _checked(program: Program, *, head: str) -> dict[str, Any]:
    found = list(
        chain(differences(program, head=head), wrong_dates(program), wrong_verdicts(program))
    )
    return {
        "program": program.code,
        "entries": LedgerEntry.objects.filter(program=program).count(),
        "head": head_of(program) or None,
        "differences": found,
        "taken_back": list(TakenBack(program).told()),
        "erased": list(Erased(program).told()),
        "removed": list(removals_told(program)),
    }
