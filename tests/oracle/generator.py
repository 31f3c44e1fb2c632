"""Seeded random histories whose facts cluster where the replay rules turn.

A quarter of the days are anywhere in the span; the rest lie within a few days of a date that
follows from an earlier fact (due dates, window openings, cure dates, a year on) or of a season's
cut. The same seed gives the same histories on any machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from random import Random

from tests.oracle.rules import days, months_after

BOOKS = ("plain-rolling", "plain-anniversary", "plain-season")
KINDS = ("RP", "DC", "RPDA", "DCDA", "RPDA-II", "DCDA-II", "PVB", "SVB", "AVB", "AG")
KIND_WEIGHTS = (30, 30, 8, 8, 4, 4, 6, 6, 2, 2)
HAZARDS = ("high", "low", "")
WORDS = ("passed", "failed", "repaired", "relocated", "idled", "resumed", "installed", "removed")
WORD_WEIGHTS = (40, 18, 10, 8, 8, 8, 3, 1)
FIRST_WORD_WEIGHTS = (20, 4, 3, 3, 3, 2, 60, 1)
STEPS = (0, 7, 10, 21, 30, 45, 60, 136, 305, 320, 350, 355, 365, 366, 375, 410)
CUTS = ((3, 1), (4, 16), (5, 16), (5, 31), (6, 1), (9, 30), (10, 1), (2, 28))
ODD_DAYS = (date(2024, 2, 29), date(2023, 8, 31), date(2024, 12, 31), date(2023, 10, 31))
FIRST, LAST = date(2019, 1, 1), date(2027, 12, 31)


@dataclass(frozen=True, kw_only=True)
class History:
    """One random assembly: what it is, what happened, and the day that is asked about."""

    rulebook: str
    kind: str
    hazard: str
    facts: tuple[tuple[str, date], ...]  # in no particular order
    as_of: date


def histories(*, seed: int, count: int) -> Iterator[History]:
    """`count` histories of one seed."""
    random = Random(seed)
    for _ in range(count):
        yield history(random)


def history(random: Random) -> History:
    facts = fact_run(random)
    random.shuffle(facts)
    return History(
        rulebook=random.choice(BOOKS),
        kind=random.choices(KINDS, KIND_WEIGHTS)[0],
        hazard=random.choice(HAZARDS),
        facts=tuple(facts),
        as_of=asked_day(random, [on for _, on in facts]),
    )


def fact_run(random: Random) -> list[tuple[str, date]]:
    """Up to ten facts, each placed after those before it but for a few that are out of order."""
    facts: list[tuple[str, date]] = []
    on = first_day(random)
    weights = FIRST_WORD_WEIGHTS
    for _ in range(random.choice((0, 1, 1, 2, 2, 3, 3, 4, 5, 6, 7, 8, 10))):
        facts.append((random.choices(WORDS, weights)[0], on))
        weights = WORD_WEIGHTS
        if random.random() < 0.05:
            facts.append(random.choice(facts))  # told twice
        on = next_day(random, on)
    return facts


def first_day(random: Random) -> date:
    if random.random() < 0.2:
        return random.choice(ODD_DAYS)
    return FIRST + days(random.randrange((date(2025, 12, 31) - FIRST).days))


def next_day(random: Random, on: date) -> date:
    """A day near a date the rules look at, seldom before `on`."""
    draw = random.random()
    if draw < 0.12:
        return on
    if draw < 0.25:
        return on + days(random.randrange(1, 900))
    if draw < 0.45:
        month, day = random.choice(CUTS)
        year = on.year + random.choice((0, 0, 1, 1, 2))
        return max(on, date(year, month, day) + days(random.choice((-1, 0, 0, 1))))
    if draw < 0.6:
        whole = months_after(on, random.choice((6, 12, 12, 24)))
        return whole + days(random.choice((-60, -45, -15, -1, 0, 0, 1)))
    if draw < 0.63:
        return on - days(random.randrange(1, 40))
    return on + days(max(0, random.choice(STEPS) + random.choice((-1, 0, 0, 0, 1))))


def asked_day(random: Random, told: list[date]) -> date:
    """Usually soon after the last fact, sometimes years later or before some of them."""
    if not told:
        return date(2025, 11, 25)
    if random.random() < 0.1:
        return random.choice(told)
    if random.random() < 0.5:
        return max(told) + days(random.randrange(420))
    return min(LAST, next_day(random, max(told)))
