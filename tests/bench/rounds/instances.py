"""Published tours through our own module and model: how far from the best known after ten seconds.

The instances of the library that ask for what no tester's van does are left out: goods to be
fetched from the depot during the day, collecting after delivering, vans of different costs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduling.domain.rounds.plans import drive_minutes
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay
from scheduling.solver import Effort, solve
from tests.domain.scheduling.rounds.towns import MONDAY
from tests.scheduling.test_solver import Distances, rc208, sections
from tests.scheduling.test_van_space import with_loads

REACH_PERCENT = 0.5


@dataclass(frozen=True)
class Reached:
    """One instance: how far from the best known with each seed, in per cent, and rules broken."""

    name: str
    percent_off: tuple[float, ...]
    broken: int

    def __str__(self) -> str:
        each = ", ".join(f"{off:.2f}" for off in self.percent_off)
        return f"{self.name:<36} {each} % off, {self.broken} broken"


def reached(*, seconds: float, seeds: Sequence[int]) -> Iterator[Reached]:
    """Each instance with each seed, each with so many seconds."""
    for name, problem, best in (
        ("RC208, 100 with windows and loads", rc208(testers=4), 7_761),
        ("X-n101-k25, 100 visits with loads", with_loads("x-n101-k25.vrp", vans=30), 27_591),
        ("E-n22-k4, 21 visits with loads", with_loads("e-n22-k4.vrp", vans=4), 375),
        ("pr107, one day of 106 visits", _tour("pr107.tsp"), 44_303),
        ("berlin52, one day of 51 visits", _tour("berlin52.tsp"), 7_542),
    ):
        found = [_one(problem, best=best, seconds=seconds, seed=seed) for seed in seeds]
        offs, broken = zip(*found, strict=True)
        yield Reached(name, offs, sum(broken))


def _one(problem: Problem, *, best: float, seconds: float, seed: int) -> tuple[float, int]:
    """Per cent above the best known (below it where a relaxation allows more); rules broken."""
    found = solve(problem, effort=Effort(seconds=seconds, seed=seed))
    cost = sum(drive_minutes(one, travel=problem.travel) for one in found.plan.rounds)
    left_out = len(problem.visits) - sum(len(one.stops) for one in found.plan.rounds)
    return 100 * (cost / best - 1), len(found.violations) + left_out


def _tour(name: str) -> Problem:
    points = [(x, y) for _number, x, y in sections(name)["NODE_COORD_SECTION"]]
    # TSPLIB's EUC_2D: rounded to the nearest whole number.
    table = [[int(math.dist(a, b) + 0.5) for b in points] for a in points]
    visits = tuple(
        Visit(key=str(place), place=place, service_minutes=0, required=True)
        for place in range(1, len(points))
    )
    days = (WorkingDay("T-1", MONDAY, 0, 10**6, depot=0),)
    return Problem(visits=visits, days=days, travel=Distances(table))
