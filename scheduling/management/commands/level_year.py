"""`level_year`: spread the tests of a stretch of days over its weeks or months."""

from __future__ import annotations

import re
from argparse import ArgumentTypeError
from datetime import date, timedelta
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.changes import Hand
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.models import Program
from scheduling.actions.levelling import (
    LevelError,
    Proposal,
    Wish,
    apply_level,
    propose_level,
    why_not,
)
from scheduling.domain.level_periods import Capacity, Per
from scheduling.queries.levelling import what_it_steers
from scheduling.views.desk import day_at

BY = "level_year"
A_YEAR = timedelta(days=364)


class Command(OfficeCommand):
    help = "Propose a target for each test so that the load fits; --apply sets the targets."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, metavar="CODE")
        parser.add_argument("--capacity", required=True, type=capacity, metavar="N/week|N/month")
        parser.add_argument("--from", dest="first", type=iso_date, metavar="DATE", help="or today")
        parser.add_argument("--to", dest="last", type=iso_date, metavar="DATE", help="or a year on")
        parser.add_argument("--apply", action="store_true", help="set the targets")

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']!r}.")
        first: date = options["first"] or day_at(program)
        wish = Wish(
            capacity=options["capacity"], first=first, last=options["last"] or first + A_YEAR
        )
        try:
            proposal = propose_level(program=program, wish=wish)
            applied = _apply(program, proposal) if options["apply"] else None
        except LevelError as error:
            raise Refused(error.message) from error
        payload = {**as_json(program, proposal), "applied": applied}
        lines = _lines(program, proposal, applied=applied)
        return Answer(payload=payload, lines=lines, clean=proposal.levelling.is_feasible)


def capacity(text: str) -> Capacity:
    """Read `25/week` or `100/month`, as `type=` of an argument."""
    found = re.fullmatch(r"(\d{1,6})/(week|month)", text)
    if found is None or not int(found[1]):
        raise ArgumentTypeError(f"{text!r} is no capacity: write 25/week or 100/month.")
    return Capacity(number=int(found[1]), per=Per(found[2]))


def _apply(program: Program, proposal: Proposal) -> int:
    hand = Hand(by=BY, at=timezone.now())
    return apply_level(program=program, proposal=proposal, hand=hand).pk


def as_json(program: Program, proposal: Proposal) -> dict[str, Any]:
    """The object that `--json` prints, but for `applied`."""
    found, wish, owed = proposal.levelling, proposal.wish, proposal.owed
    rows = zip(found.periods, proposal.before, found.loads, strict=True)
    return {
        "program": program.code,
        "capacity": wish.capacity.number,
        "per": str(wish.capacity.per),
        "from": wish.first,
        "to": wish.last,
        "feasible": found.is_feasible,
        "proven": found.is_proven,
        "obligations": len(proposal.moves),
        "visits": found.visits,
        "moved": len(proposal.moved),
        "lost_days": found.lost_days,
        "enough": found.enough,
        "steers": what_it_steers(program),
        "left_out": {"past_due": owed.past_due, "failed": owed.failed, "at_rest": owed.at_rest},
        "periods": [
            {"from": p.first, "to": p.last, "room": p.room, "before": before, "after": after}
            for p, before, after in rows
        ],
        "over": [
            {"from": p.first, "to": p.last, "room": p.room, "over": more} for p, more in found.over
        ],
        "targets": [
            {
                "assembly": move.row.its_assembly.serial,
                "premises": str(move.row.its_assembly.premises),
                "opens_on": move.row.opens_on,
                "due_on": move.row.due_on,
                "target_on": move.target_on,
                "moved": move.is_moved,
            }
            for move in proposal.moves
        ],
    }


def _lines(program: Program, proposal: Proposal, *, applied: int | None) -> list[str]:
    found, owed = proposal.levelling, proposal.owed
    spread = (
        f"{program.code}, {proposal.wish.first} to {proposal.wish.last}, {proposal.wish.capacity}: "
        f"{len(proposal.moves)} tests in {found.visits} visits, {len(proposal.moved)} moved, "
        f"{found.lost_days} days of credit lost."
    )
    left = f"Left out: {owed.past_due} past due, {owed.failed} failed, {owed.at_rest} out of use."
    lines = [spread, left, what_it_steers(program)]
    lines += [] if found.is_feasible else [why_not(proposal)]
    lines += [] if found.is_proven else ["The solver ran out of time: a better plan may exist."]
    done = f"Applied as decision {applied}." if applied else "Nothing is set; --apply sets it."
    return [*lines, done]
