"""Simulated courses of readings, from rules that the forecast does not know.

Three invented towns. Wear is a gamma process, slow or quick by assembly; now and then something
fouls a seat; gauges err; what fails is repaired and starts afresh. None of the figures is a
published rate.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from registry.domain.kinds import AssemblyType
from reports.domain.risk import Chance, Kin, Step, age_band, chance_of_falling, size_band, steps_of
from reports.domain.trends import Observed

SEED = 20261128
LIMIT = 2.0
TYPE = AssemblyType.RP


@dataclass(frozen=True, kw_only=True)
class Town:
    """The invented figures of one town: psid, and shares a test."""

    room: float
    wear: float
    fouled: float
    depth: float
    error: float


TOWNS = {
    "soft water": Town(room=1.4, wear=0.04, fouled=0.03, depth=1.2, error=0.1),
    "hard water": Town(room=1.2, wear=0.12, fouled=0.06, depth=1.2, error=0.15),
    "gritty": Town(room=1.6, wear=0.03, fouled=0.15, depth=1.5, error=0.2),
}


def courses(town: Town, *, count: int, rng: np.random.Generator) -> Iterator[list[Observed]]:
    """Readings of `count` assemblies, 3 to 12 tests each."""
    for _ in range(count):
        yield list(_course(town, tests=int(rng.integers(3, 13)), rng=rng))


def _course(town: Town, *, tests: int, rng: np.random.Generator) -> Iterator[Observed]:
    on = date(2010, 1, 1) + timedelta(days=int(rng.integers(0, 365)))
    wear = float(rng.gamma(2, town.wear / 2))
    level = LIMIT + float(rng.gamma(4, town.room / 4))
    for _ in range(tests):
        fouled = float(rng.exponential(town.depth)) if rng.random() < town.fouled else 0.0
        sees = level - fouled + float(rng.normal(0, town.error))
        found = round(sees, 1) if sees > 0 else None
        fails = found is None or found < LIMIT
        left = found
        if fails:
            level = LIMIT + float(rng.gamma(4, town.room / 4))
            left = max(round(level + float(rng.normal(0, town.error)), 1), LIMIT)
        yield Observed(
            on=on,
            found=found,
            found_failing=found is None,
            left=left,
            was_repaired=fails,
            limit=LIMIT,
        )
        years = max(float(rng.normal(1, 0.1)), 0.3)
        on += timedelta(days=int(365 * years))
        level -= wear * float(rng.gamma(3, 1 / 3)) * years


def forecasts(name: str, *, peers: int = 400, asked: int = 2000) -> list[tuple[float, bool]]:
    """Chance told and what happened, at the last test of `asked` assemblies of a town."""
    rng = np.random.default_rng([SEED, list(TOWNS).index(name)])
    known = list(courses(TOWNS[name], count=peers, rng=rng))
    steps = [step for course in known for step in _steps(course)]
    told = []
    for course in courses(TOWNS[name], count=asked, rng=rng):
        *history, last = course
        kin = Kin(type=TYPE, size=size_band(1), age=age_band(course[0].on, on=last.on))
        chance = chance_of_falling(history, kin=kin, limit=LIMIT, next_on=last.on, peers=steps)
        if isinstance(chance, Chance):
            told.append((chance.share, last.was_repaired))
    return told


def _steps(course: list[Observed]) -> list[Step]:
    return list(steps_of(course, type_=TYPE, size_in=1, installed_on=course[0].on))


@dataclass(frozen=True, kw_only=True)
class Decile:
    """A tenth of the forecasts, from the lowest chances to the highest."""

    told: float
    seen: float
    count: int

    @property
    def is_within(self) -> bool:
        """Within three standard errors and two points."""
        error = (self.told * (1 - self.told) / self.count) ** 0.5
        return bool(abs(self.seen - self.told) <= 3 * error + 0.02)


def deciles(told: list[tuple[float, bool]]) -> list[Decile]:
    """Predicted against observed, by tenths."""
    ordered = sorted(told)
    return [
        Decile(
            told=float(np.mean([chance for chance, _ in part])),
            seen=float(np.mean([fell for _, fell in part])),
            count=len(part),
        )
        for part in (
            ordered[len(ordered) * n // 10 : len(ordered) * (n + 1) // 10] for n in range(10)
        )
    ]
