"""Small invented weeks to plan, built in minutes of one axis."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduling.domain.rounds.travel import Detour, straight_travel
from scheduling.domain.rounds.visits import Problem, Spot, Visit, Window, WorkingDay

MONDAY = date(2026, 11, 30)


@dataclass(frozen=True)
class OnALine:
    """Places on a straight road, ten minutes from one number to the next."""

    step: int = 10
    how: str = "a straight road"

    def between(self, origin: int, target: int) -> int:
        return abs(origin - target) * self.step


def day(
    tester: str = "T-1",
    *,
    number: int = 0,
    starts: int = 480,
    ends: int = 990,
    depot: int = 0,
    skills: Sequence[str] = (),
) -> WorkingDay:
    """A working day 08:00 to 16:30 of the numbered day, from place 0."""
    return WorkingDay(
        tester=tester,
        day=MONDAY + timedelta(days=number),
        starts=number * 1440 + starts,
        ends=number * 1440 + ends,
        depot=depot,
        skills=frozenset(skills),
    )


def week(visits: Sequence[Visit], days: Sequence[WorkingDay]) -> Problem:
    """A problem on the straight road."""
    return Problem(visits=tuple(visits), days=tuple(days), travel=OnALine())


def town(seed: int, *, visits: int, testers: int, days: int) -> Problem:
    """A seeded town: windows on a third of the visits, a skill on a fifth."""
    dice = random.Random(seed)
    spots = [Spot(46.85 + dice.gauss(0, 0.05), -118.2 + dice.gauss(0, 0.07)) for _ in range(visits)]
    depots = [Spot(46.85 + dice.uniform(-0.1, 0.1), -118.2) for _ in range(testers)]
    return Problem(
        visits=tuple(_visit(dice, number, days) for number in range(visits)),
        days=tuple(
            day(
                f"T-{tester}",
                number=number,
                depot=visits + tester,
                skills=["fire lines"] if tester % 2 == 0 else [],
            )
            for tester in range(testers)
            for number in range(days)
        ),
        travel=straight_travel([*spots, *depots], detour=Detour()),
    )


def _visit(dice: random.Random, number: int, days: int) -> Visit:
    windows: tuple[Window, ...] = ()
    if dice.random() < 1 / 3:
        opens = dice.choice([480, 540, 720, 780])
        windows = tuple(
            Window(one * 1440 + opens, one * 1440 + opens + 240)
            for one in range(days)
            if dice.random() < 0.8
        )
    return Visit(
        key=f"V{number}",
        place=number,
        service_minutes=dice.choice([25, 30, 30, 45, 65]),
        priority=dice.choice([100, 150, 630, 1300, 4000]),
        windows=windows,
        skills=frozenset(["fire lines"]) if dice.random() < 0.2 else frozenset(),
    )
