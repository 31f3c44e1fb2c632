"""Prints how good plans are: `python -m tests.bench.rounds`; a part of `make bench`.

The large town comes first, so that its peak of memory is its own.
BENCH_CLOCK=processor: the published instances get so many seconds of the processor.
BENCH_QUICK=1: five seconds where thirty are asked, and no large town; nothing is judged then.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.insertion import draft_of, plan_of
from scheduling.domain.rounds.plans import Plan, drive_minutes
from scheduling.domain.rounds.slots import best_slots
from scheduling.domain.rounds.visits import Problem
from scheduling.solver import Effort, solve
from tests.bench.rounds import second_engine
from tests.bench.rounds.bounds import most_points
from tests.bench.rounds.by_hand import planned_by_hand, zips_of
from tests.bench.rounds.clock import WORDS, by_the_chosen_clock
from tests.bench.rounds.instances import REACH_PERCENT, reached
from tests.bench.rounds.weeks import town_with_spots

QUICK = os.environ.get("BENCH_QUICK", "") == "1"
WEEK_SECONDS = 5 if QUICK else 30
TOUR_SECONDS = 2 if QUICK else 10
TOUR_SEEDS = (1,) if QUICK else (1, 2, 3, 4, 5)
LARGE_SECONDS = 600
TOWNS = (1, 2, 3)
HAND_TOWNS = (1, 2, 3, 4, 5)


@dataclass(frozen=True)
class Figures:
    """A plan in figures: points, visits, minutes of driving, and rules it breaks."""

    points: int
    visits: int
    drive: int
    broken: int

    def __str__(self) -> str:
        return f"{self.points:>8,} points {self.visits:>5} visits {self.drive:>6,} min driving"


def figures(plan: Plan, problem: Problem) -> Figures:
    """The plan in figures, by our own checker."""
    stops = [stop for one in plan.rounds for stop in one.stops]
    return Figures(
        points=sum(problem.visit_by_key[stop.visit].priority for stop in stops),
        visits=len(stops),
        drive=sum(drive_minutes(one, travel=problem.travel) for one in plan.rounds),
        broken=len(violations(plan, problem=problem)),
    )


def main() -> None:
    """Print every part; end with 1 where a limit is broken."""
    kept = [ok for part in (large, slots, tours, weeks, hand) for ok in part()]
    sys.exit(0 if QUICK or all(kept) else 1)


def tours() -> Iterator[bool]:
    """Published tours through our own model."""
    seeds = ", ".join(map(str, TOUR_SEEDS))
    tell(f"Published instances, {TOUR_SECONDS} s of {WORDS}, seeds {seeds}")
    tell(f"  (reach: {REACH_PERCENT} % off)")
    with by_the_chosen_clock():
        for one in reached(seconds=TOUR_SECONDS, seeds=TOUR_SEEDS):
            tell(f"  {one}")
            yield max(one.percent_off) <= REACH_PERCENT and not one.broken


def weeks() -> Iterator[bool]:
    """The realistic week against a second engine, and the bound nobody can beat."""
    tell(f"5 testers x 5 days, 300 optional visits, 12 appointments, lunch; {WEEK_SECONDS} s each")
    for seed in TOWNS:
        problem, _spots = town_with_spots(seed, visits=300, testers=5)
        ours = figures(solve(problem, effort=Effort(seconds=WEEK_SECONDS, seed=1)).plan, problem)
        bound = most_points(problem)
        tell(f"  town {seed}: ours      {ours}, {ours.broken} broken")
        tell(f"          bound    {bound:>9,.0f} points: ours is {100 * ours.points / bound:.1f} %")
        yield ours.broken == 0
        if second_engine.is_here():
            other = second_engine.planned(problem, seconds=WEEK_SECONDS)
            theirs = figures(other, problem) if other else Figures(0, 0, 0, 0)
            tell(f"          OR-tools {theirs}, {theirs.broken} broken")
            yield (ours.points, -ours.drive) > (theirs.points, -theirs.drive)
    if not second_engine.is_here():
        tell("  OR-tools is not installed: not compared (pip install ortools into .venv)")


def hand() -> Iterator[bool]:
    """The same weeks as an office fills them by hand."""
    tell(f"Against ZIP by ZIP, most urgent first; {WEEK_SECONDS} s each")
    for seed in HAND_TOWNS:
        problem, spots = town_with_spots(seed, visits=300, testers=5)
        draft = planned_by_hand(problem, zips=zips_of(spots))
        before = figures(plan_of(draft, how="by hand"), problem)
        ours = figures(solve(problem, effort=Effort(seconds=WEEK_SECONDS, seed=1)).plan, problem)
        each = (before.drive / before.visits, ours.drive / ours.visits)
        tell(f"  town {seed}: by hand {before}, {before.broken} broken")
        tell(
            f"          ours    {ours}: {ours.visits - before.visits:+} visits, "
            f"{each[0]:.1f} -> {each[1]:.1f} min driving a visit"
        )
        yield before.broken == 0 and ours.points > before.points


def slots() -> Iterator[bool]:
    """The best slot for a new job in a large plan, while on the telephone."""
    problem, _spots = town_with_spots(1, visits=2_000, testers=20, appointments=40)
    draft = draft_of(problem, required_only=False)
    waiting = [one for one in problem.visits if one.key not in draft.planned()]
    took = []
    for visit in waiting[:20]:
        started = time.perf_counter()
        best_slots(visit, draft=draft)
        took.append(time.perf_counter() - started)
    tell(
        f"Best slots in a plan of 2,000 visits, 20 testers: {max(took):.2f} s at most (reach: 1 s)"
    )
    yield max(took) <= 1


def large() -> Iterator[bool]:
    """2,000 visits, 20 testers, 5 days: the first plan, and the prize after ten minutes."""
    if QUICK:
        return
    problem, _spots = town_with_spots(7, visits=2_000, testers=20, appointments=40)
    started = time.perf_counter()
    first = solve(problem, effort=Effort(seconds=LARGE_SECONDS, seed=1), is_enough=lambda: True)
    took = time.perf_counter() - started
    early = figures(first.plan, problem)
    ours = figures(solve(problem, effort=Effort(seconds=LARGE_SECONDS, seed=1)).plan, problem)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    bound = min(most_points(problem), sum(one.priority for one in problem.visits))
    share = ours.points / bound
    tell(f"2,000 visits, 20 testers, 5 days, {LARGE_SECONDS} s")
    tell(f"  first plan after {took:.0f} s (reach: 60): {early}, {early.broken} broken")
    tell(f"  after {LARGE_SECONDS} s:                  {ours}, {ours.broken} broken")
    tell(f"  {100 * share:.1f} % of the bound (reach: 95); peak {peak:,.0f} MB (reach: 1,024)")
    yield took <= 60 and not early.broken
    yield share >= 0.95
    yield ours.broken == 0
    yield peak <= 1024


def tell(line: str) -> None:
    """Print one line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
