"""`erase_person`: blacken what names a party, a tester or a user of a program."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.changes import Hand
from registry.console import Answer, OfficeCommand, Refused
from registry.models import Program
from registry.moments import today_in
from reports.erasing.acting import erase, shown
from reports.erasing.people import KINDS, open_matters, person_of
from reports.erasing.pictures import pictures_of


class Command(OfficeCommand):
    help = "Erase a person. Without --name it only shows what would go and what is still open."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", choices=KINDS)
        parser.add_argument("id", type=int, help="the number in the person's address on the pages")
        parser.add_argument("--program", required=True, metavar="CODE")
        parser.add_argument("--name", default="", help="the person's name, to say that you mean it")
        parser.add_argument("--reason", default="", help="who asked, and when")
        parser.add_argument("--by", default="", help="who does it, by name")
        parser.add_argument(
            "--also", default="", help="other words that name the person, with commas between"
        )
        parser.add_argument("--force", action="store_true", help="although something is open")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']}.")
        person = person_of(program, what=options["what"], pk=options["id"])
        if person is None:
            raise Refused(f"The program has no {options['what']} {options['id']}, or it is erased.")
        now = timezone.now()
        today = today_in(zone=program.zone, now=now)
        still = open_matters(person, program=program, today=today)
        kept = [one for one in pictures_of(person, program=program) if one.removal is None]
        look = f"Pictures and scans to look at, on the person's page: {len(kept):,}."
        if not options["name"]:
            goes = shown(person, program=program, today=today)
            lines = [f"{label}: {count:,}" for label, count in sorted(goes.items())]
            lines += [f"Still open: {one}" for one in still]
            lines.append(look)
            lines.append("Nothing was erased: repeat it with --name, --reason and --by.")
            payload = {"erased": False, "rows": goes, "open": still, "letters": 0, "entries": 0}
            return Answer(payload={**payload, "pictures": len(kept)}, lines=lines)
        if not options["by"].strip():
            raise Refused("Say who does it: --by NAME.")
        hand = Hand(by=options["by"].strip(), at=now, reason=options["reason"])
        done = erase(
            person, program=program, typed=options["name"], is_forced=options["force"],
            hand=hand, today=today, also=[one.strip() for one in options["also"].split(",")],
        )  # fmt: skip
        payload = {
            "erased": True,
            "rows": done.tally,
            "open": done.open_matters,
            "letters": len(done.letters),
            "entries": len(done.entries),
            "pictures": len(kept),
        }
        lines = [f"{label}: {count:,}" for label, count in sorted(done.tally.items())]
        after = "Pictures and scans that stay, to be looked at under Pictures and scans"
        return Answer(payload=payload, lines=[*lines, f"{after}: {len(kept):,}.", "Erased."])
