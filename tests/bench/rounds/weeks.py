"""Invented weeks as a dispatcher meets them: windows, skills, lunch, appointments, seeds named."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

from scheduling.domain.rounds.insertion import draft_of
from scheduling.domain.rounds.travel import Detour
from scheduling.domain.rounds.visits import (
    Lunch,
    Problem,
    Promise,
    Spot,
    Visit,
    Window,
    WorkingDay,
)

MONDAY = date(2026, 11, 30)
FIRE = "fire lines"
SPACE = "confined space"


def town_with_spots(
    seed: int, *, visits: int, testers: int, days: int = 5, appointments: int = 12
) -> tuple[Problem, dict[str, Spot]]:
    """A town of so many optional visits and a few appointments that can all be kept.

    Houses stand in clusters. A third of the visits has hours, an eighth needs a tester for fire
    lines, one in twenty one for confined spaces; lunch is half an hour between 11:30 and 13:30.
    """
    dice = random.Random(seed)
    clusters = max(6, visits // 40)
    middles = [(dice.gauss(46.85, 0.06), dice.gauss(-118.2, 0.09)) for _ in range(clusters)]
    spots = [_spot(dice, dice.choice(middles)) for _ in range(visits)]
    depots = [_spot(dice, (46.85, -118.2)) for _ in range(testers)]
    whole = Problem(
        visits=tuple(_visit(dice, number, days=days) for number in range(visits)),
        days=tuple(
            _day(tester, number, depot=visits + tester)
            for tester in range(testers)
            for number in range(days)
        ),
        travel=Detour().table([*spots, *depots]),
    )
    named = {visit.key: spots[number] for number, visit in enumerate(whole.visits)}
    return _with_appointments(whole, dice, count=appointments), named


def _spot(dice: random.Random, middle: tuple[float, float]) -> Spot:
    lat, lon = middle
    return Spot(round(dice.gauss(lat, 0.012), 6), round(dice.gauss(lon, 0.018), 6))


def _day(tester: int, number: int, *, depot: int) -> WorkingDay:
    begins = number * 1440
    skills = ([FIRE] if tester % 2 == 0 else []) + ([SPACE] if tester % 3 == 0 else [])
    return WorkingDay(
        tester=f"T-{tester}",
        day=MONDAY + timedelta(days=number),
        starts=begins + 480,
        ends=begins + 990,
        depot=depot,
        skills=frozenset(skills),
        lunch=Lunch(Window(begins + 690, begins + 810), 30),
    )


def _visit(dice: random.Random, number: int, *, days: int) -> Visit:
    windows: tuple[Window, ...] = ()
    if dice.random() < 1 / 3:
        opens = dice.choice([480, 540, 720, 780])
        open_days = [one for one in range(days) if dice.random() < 0.8] or [0]
        windows = tuple(Window(one * 1440 + opens, one * 1440 + opens + 240) for one in open_days)
    chance = dice.random()
    skill = FIRE if chance < 1 / 8 else SPACE if chance < 1 / 8 + 1 / 20 else ""
    return Visit(
        key=f"V{number}",
        place=number,
        service_minutes=dice.choice([25, 30, 30, 45, 65]),
        priority=dice.choice([100, 150, 150, 630, 630, 1300, 4000]),
        windows=windows,
        skills=frozenset([skill]) if skill else frozenset(),
    )


def _with_appointments(problem: Problem, dice: random.Random, *, count: int) -> Problem:
    """Some visits of a plain plan become promises at its times, so that all can be kept."""
    if not count:
        return problem
    draft = draft_of(problem, required_only=False)
    timed = [(stop, day) for day in problem.days for stop in draft.stops(day)]
    promises = {
        stop.visit: Promise(day.tester, stop.arrive, stop.leave)
        for stop, day in dice.sample(timed, min(count, len(timed)))
    }
    visits = tuple(replace(visit, promise=promises.get(visit.key)) for visit in problem.visits)
    return Problem(visits, problem.days, problem.travel)
