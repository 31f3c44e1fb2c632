"""Published tours through our own module and model: how far from the best known after ten seconds.

The instances of the library that ask for loads or several trips are left out: our vans carry none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduling.domain.rounds.plans import drive_minutes
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay
from scheduling.solver import Effort, solve
from tests.domain.scheduling.rounds.towns import MONDAY
from tests.scheduling.test_solver import Distances, rc208, sections

REACH_PERCENT = 0.5


@dataclass(frozen=True)
class Reached:
    """One instance: the cost reached beside the best known, in the instance's own unit."""

    name: str
    cost: float
    best_known: float
    broken: int

    @property
    def percent_off(self) -> float:
        """Per cent above the best known; below it where a relaxation allows more."""
        return 100 * (self.cost / self.best_known - 1)


def reached(*, seconds: float) -> list[Reached]:
    """Each instance once, each with so many seconds and seed 1."""
    return [
        _one("RC208, 100 visits with windows", rc208(testers=4), best=7761, seconds=seconds),
        _one("pr107, one day of 106 visits", _tour("pr107.tsp"), best=44_303, seconds=seconds),
        _one("berlin52, one day of 51 visits", _tour("berlin52.tsp"), best=7_542, seconds=seconds),
    ]


def _one(name: str, problem: Problem, *, best: float, seconds: float) -> Reached:
    found = solve(problem, effort=Effort(seconds=seconds, seed=1))
    cost = sum(drive_minutes(one, travel=problem.travel) for one in found.plan.rounds)
    left_out = len(problem.visits) - sum(len(one.stops) for one in found.plan.rounds)
    return Reached(name, cost, best, len(found.violations) + left_out)


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
