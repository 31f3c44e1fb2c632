"""`release_letters`: release letters that wait for a person; never an order."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.db.models import Q, QuerySet
from django.utils import timezone

from notices.actions.releasing import release_letters
from notices.domain.kinds import LetterState
from notices.models import Letter
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.models import Program
from registry.moments import recording_moment, today_in


class Command(OfficeCommand):
    help = "Release letters that wait. Orders are refused: a person signs them on their page."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, metavar="CODE")
        parser.add_argument("--kind", metavar="RUNG", help="only letters of this kind")
        parser.add_argument("--number", action="append", metavar="NUMBER", help="repeatable")
        parser.add_argument("--by", required=True, metavar="NAME", help="who releases them")
        parser.add_argument("--as-of", type=iso_date, metavar="DATE")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']}.")
        now = timezone.now()
        today = self._day(
            program, as_of=options["as_of"], today=today_in(zone=program.zone, now=now)
        )
        found = _waiting(program, kind=options["kind"], numbers=options["number"])
        done = release_letters(
            program=program,
            letter_ids=list(found.values_list("pk", flat=True)),
            by=options["by"],
            at=recording_moment(program=program, as_of=today, now=now),
            today=today,
        )
        refused = [{"number": number, "reason": why} for number, why in done.refused.items()]
        payload = {"program": program.code, "released": done.released, "refused": refused}
        lines = [f"{len(done.released)} released, {len(refused)} refused."]
        lines += [f"{number}: {why}" for number, why in done.refused.items()]
        return Answer(payload=payload, lines=lines, clean=not refused)

    def _day(self, program: Program, *, as_of: date | None, today: date) -> date:
        if as_of is None:
            return today
        if not program.is_trial and as_of != today:
            raise Refused(f"Letters of {program.code} are released today, {today}, or not at all.")
        return as_of


def _waiting(program: Program, *, kind: str | None, numbers: list[str] | None) -> QuerySet[Letter]:
    """Return the letters named, or all that wait, orders too: each is told why it is refused."""
    wanted = Q(state=LetterState.COMPOSED) if numbers is None else Q(number__in=numbers)
    if kind is not None:
        wanted &= Q(kind=kind)
    return Letter.objects.filter(wanted, program=program).order_by("pk")
