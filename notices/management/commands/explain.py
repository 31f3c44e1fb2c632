"""`explain`: why a stored assembly or a premises stands where it does; letters that left count."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from notices.queries.explaining_places import (
    NoSuchPremisesError,
    explain_premises,
    named_premises,
)
from notices.queries.left_rungs import left_rungs_of
from notices.queries.left_then import left_then
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.domain.identity import maker_key, serial_key
from registry.models import Assembly, Program
from registry.moments import end_of_day, today_in
from registry.queries.serials import SerialBook
from scheduling.domain.explanation import Explanation, PlaceExplanation
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.queries.standings import LeftByKey, explain_assembly


class Command(OfficeCommand):
    """Explains standing, dates and next rung of one assembly or premises, rule by rule."""

    help = "Explain where one assembly (or a premises) stands, what is owed and why."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("serial", metavar="SERIAL", nargs="?")
        parser.add_argument(
            "--premises",
            metavar="ACCOUNT",
            help="instead of SERIAL: an account or address; what the premises and its services owe",
        )
        parser.add_argument("--program", required=True, metavar="CODE")
        parser.add_argument("--maker", metavar="NAME", help="where one serial has several makers")
        parser.add_argument("--as-of", type=iso_date, metavar="DATE")
        parser.add_argument(
            "--known-at", type=iso_date, metavar="DATE", help="as known at the end of that day"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"No program has the code {options['program']!r}.")
        if (options["serial"] is None) is (options["premises"] is None):
            raise Refused("Name a serial, or --premises with an account or an address.")
        if options["premises"] is not None:
            return _of_premises(program, options=options)
        assembly = _assembly(program, serial=options["serial"], maker=options["maker"])
        as_of = options["as_of"] or today_in(zone=program.zone, now=timezone.now())
        known_on: date | None = options["known_at"]
        try:
            said = explain_assembly(
                assembly=assembly,
                as_of=as_of,
                known_at=end_of_day(program, known_on),
                left=_left(assembly, as_of=as_of, known_on=known_on),
            )
        except NoRulebookError as error:
            raise Refused(str(error)) from error
        return Answer(payload=said.to_json(), lines=_lines(said))


def _of_premises(program: Program, *, options: dict[str, Any]) -> Answer:
    as_of = options["as_of"] or today_in(zone=program.zone, now=timezone.now())
    try:
        site = named_premises(program, word=options["premises"])
        found = explain_premises(site, as_of=as_of, known_on=options["known_at"])
    except (NoRulebookError, NoSuchPremisesError) as error:
        raise Refused(str(error)) from error
    lines = [line for said in found for line in _place_lines(said)]
    nothing = f"{site}: nothing is asked of the premises or of its services."
    return Answer(payload=[said.to_json() for said in found], lines=lines or [nothing])


def _place_lines(said: PlaceExplanation) -> list[str]:
    of = "the premises" if said.service is None else said.service or "a service of unknown kind"
    due = f", due {said.owed.due_on}" if said.owed else ""
    rung = f", next {said.step.rung.key}" if said.step else ""
    lines = [f"{said.premises}, {said.kind} of {of}: {said.standing}{due}{rung}"]
    lines += [
        f"    {reason.date}  {reason.arithmetic}  ({reason.citation})" for reason in said.reasons
    ]
    return lines + [f"    look at: {warning}" for warning in said.ledger.warnings]


def _assembly(program: Program, *, serial: str, maker: str | None) -> Assembly:
    found = Assembly.objects.filter(program=program, serial_key=serial_key(serial))
    if maker is not None:
        found = found.filter(maker_key=maker_key(maker))
    rows = list(found.select_related("program").order_by("maker", "pk"))
    if not rows:
        rows = _merged(program, serial=serial, maker=maker)
    if not rows:
        of_maker = f" of {maker}" if maker is not None else ""
        raise Refused(f"Program {program.code} has no assembly {serial}{of_maker}.")
    if len(rows) > 1:
        makers = ", ".join(row.maker or "(no maker)" for row in rows)
        raise Refused(f"Serial {serial} is known under several makers: {makers}. Add --maker.")
    return rows[0]


def _left(assembly: Assembly, *, as_of: date, known_on: date | None) -> LeftByKey:
    """What had left by the day; as then known, no later correction moves it."""
    if known_on is None:
        return left_rungs_of(assembly=assembly, as_of=as_of)
    return left_then(assembly=assembly, by=min(as_of, known_on), known_on=known_on)


def _merged(program: Program, *, serial: str, maker: str | None) -> list[Assembly]:
    """Assemblies that had the serial before a merge."""
    book = SerialBook(program=program, serials=[serial])
    meant = book.meant(serial=serial, maker=maker or "")
    found = Assembly.objects.filter(pk__in=[named.assembly_id for named in meant])
    return list(found.select_related("program").order_by("maker", "pk"))


def _lines(said: Explanation) -> list[str]:
    due = f", due {said.due_on}" if said.due_on else ""
    rung = f", next {said.rung} on {said.rung_on}" if said.rung else ""
    lines = [f"{said.assembly}: {said.standing}{due}{rung}"]
    lines += [
        f"    {reason.date}  {reason.arithmetic}  ({reason.citation})" for reason in said.reasons
    ]
    return lines + [f"    look at: {warning}" for warning in said.warnings]
