"""`plan_rounds`: a program's due work becomes testers' rounds for the days asked for."""

from __future__ import annotations

from argparse import ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from registry.changes import Hand
from registry.console import Answer, OfficeCommand, Refused, iso_date, progress_on_stderr
from registry.models import LoadBatch, Program
from registry.moments import recording_moment, today_in
from reports.rounds.planning import Planned, PlanRefusedError, Wish, plan_rounds
from reports.rounds.telling import lines_of, payload_of
from scheduling.domain.rounds.unplanned import spoken
from scheduling.models import ProgramClock
from scheduling.solver import Effort, Progress

SECONDS = 20
MOST_DAYS = 92
MOST_SECONDS = 86_400
MOST_SEED = 2**31 - 1
MOST_STAY = 240


class Command(OfficeCommand):
    """Plans the days from a date, keeps the plan and prints it."""

    help = "Plan testers' rounds for a program's open and coming tests."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--from", dest="first_day", required=True, type=iso_date)
        parser.add_argument("--days", required=True, type=_count)
        effort = parser.add_mutually_exclusive_group()
        effort.add_argument("--seconds", type=_seconds, help="look at most so long (default 20)")
        effort.add_argument("--iterations", type=_count, help="look exactly so often")
        parser.add_argument("--seed", type=_seed, default=0, help="with --iterations: repeats")
        parser.add_argument(
            "--stay", type=_minutes, metavar="MINUTES",
            help="begin from the days as they stand, and move a visit only to save more driving",
        )  # fmt: skip

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']!r}.")
        if options["days"] > MOST_DAYS:
            raise Refused(f"Plan at most {MOST_DAYS} days at once.")
        now = timezone.now()
        today = _today(program, first_day=options["first_day"])
        hand = Hand(by="plan_rounds", at=recording_moment(program=program, as_of=today, now=now))
        wish = Wish(
            options["first_day"],
            options["days"],
            today,
            _effort(options),
            stay_minutes=options["stay"] or 0,
            begin_anew=options["stay"] is None,
        )
        try:
            planned = self._plan(program=program, wish=wish, hand=hand)
        except PlanRefusedError as refusal:
            raise Refused(str(refusal)) from refusal
        for note in (*planned.solved.notes, *(v.words for v in planned.solved.violations)):
            self.stderr.write(note)
        return Answer(payload=payload_of(planned), lines=lines_of(planned))

    def _plan(self, *, program: Program, wish: Wish, hand: Hand) -> Planned:
        """Plan with a bar on standard error, and leave a line of what the search came to."""
        last: list[Progress] = []
        with progress_on_stderr("Planning rounds") as advance:

            def tell(progress: Progress) -> None:
                last[:] = [progress]
                advance(*_share(progress, effort=wish.effort))

            planned = plan_rounds(program=program, wish=wish, hand=hand, progress=tell)
        for progress in last:
            self.stderr.write(
                f"Searched {progress.seconds:.0f} s, {progress.iterations} iterations: "
                f"{progress.planned} visits, {spoken(progress.drive_minutes)} of driving."
            )
        return planned


def _share(progress: Progress, *, effort: Effort) -> tuple[int, int]:
    """How much of the effort is spent, and of how much."""
    if effort.iterations is not None:
        return progress.iterations, effort.iterations
    return round(progress.seconds), round(effort.seconds or progress.seconds)


def _today(program: Program, *, first_day: date) -> date:
    """The program's day: the clock's; for a trial that of its last run, or of its last load."""
    if not program.is_trial:
        return today_in(zone=program.zone, now=timezone.now())
    clock = ProgramClock.objects.filter(program=program).first()
    if clock is not None and clock.last_run_on is not None:
        return clock.last_run_on
    batch = LoadBatch.objects.filter(program=program).order_by("-as_of").first()
    return batch.as_of if batch is not None else first_day


def _effort(options: dict[str, Any]) -> Effort:
    if options["iterations"] is not None:
        return Effort(iterations=options["iterations"], seed=options["seed"])
    return Effort(seconds=options["seconds"] or SECONDS, seed=options["seed"])


def _count(text: str) -> int:
    """A whole number from 1."""
    if not text.isdecimal() or int(text) < 1:
        raise ArgumentTypeError(f"{text!r} is no whole number from 1.")
    return int(text)


def _minutes(text: str) -> int:
    """A whole number of minutes; more would outweigh a visit left out."""
    if not text.isdecimal() or int(text) > MOST_STAY:
        raise ArgumentTypeError(f"{text!r} is no whole number of minutes up to {MOST_STAY}.")
    return int(text)


def _seconds(text: str) -> float:
    """A number of seconds above nought."""
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds <= MOST_SECONDS:
        raise ArgumentTypeError(f"{text!r} is no number of seconds up to {MOST_SECONDS:,}.")
    return seconds


def _seed(text: str) -> int:
    """A whole number that the engine's dice and the plan's row can hold."""
    if not text.isdecimal() or int(text) > MOST_SEED:
        raise ArgumentTypeError(f"{text!r} is no whole number from 0 to {MOST_SEED}.")
    return int(text)
