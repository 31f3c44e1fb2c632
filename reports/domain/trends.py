"""Trends: one reading over the years against its limit, and the robust slope through it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from math import sqrt
from statistics import NormalDist, median

DAYS_A_YEAR = 365.25
LEAST_POINTS = 4
LEAST_YEARS = 1.5
CONFIDENCE = 0.95


@dataclass(frozen=True, kw_only=True)
class Observed:
    """One reading at one test: as found, and as it was left.

    `found` is None where a word stood in the figure's place; `found_failing` tells the words that
    are a failure by themselves ("did not open", "leaked"). `left` is None where the test left no
    figure. All figures of a history are in one unit.
    """

    on: date
    found: float | None
    found_failing: bool = False
    left: float | None = None
    was_repaired: bool = False
    limit: float | None = None


@dataclass(frozen=True, kw_only=True)
class Slope:
    """The median of the slopes of all pairs, a year, with its confidence interval."""

    per_year: float
    low: float
    high: float
    at: float
    """The line's height at the first point."""

    points: int

    @property
    def is_clear(self) -> bool:
        """Whether the interval leaves zero out."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True, kw_only=True)
class Trend:
    """What is said of a reading's course; `slope` is None where too little is known, and why."""

    slope: Slope | None
    why_not: str = ""
    since_repair_on: date | None = None


def current_run(history: Sequence[Observed]) -> tuple[Observed, ...]:
    """The tests since the last repair, in order; a repaired test opens a run and belongs to it."""
    ordered = sorted(history, key=lambda one: one.on)
    opens = max((place for place, one in enumerate(ordered) if one.was_repaired), default=0)
    return tuple(ordered[opens:])


def run_points(run: Sequence[Observed]) -> list[tuple[float, float]]:
    """Years since the first day of a run, and the reading: as left by a repair, else as found."""
    told = [(one.on, one.left if one.was_repaired else one.found) for one in run]
    figures = [(on, value) for on, value in told if value is not None]
    if not figures:
        return []
    first = figures[0][0]
    return [((on - first).days / DAYS_A_YEAR, value) for on, value in figures]


def trend_of(history: Sequence[Observed]) -> Trend:
    """The robust slope since the last repair, or why there is none.

    Four readings over a year and a half are the least: below that the interval of the slope says
    nothing (with three points no rank test reaches 95 %; common practice for the rest).
    """
    run = current_run(history)
    since = run[0].on if run and run[0].was_repaired else None
    points = run_points(run)
    after = " since its repair" if since else ""
    if len(points) < LEAST_POINTS:
        told = f"{len(points)} {'reading' if len(points) == 1 else 'readings'}{after}"
        why = f"{told}: a slope needs {LEAST_POINTS}."
        return Trend(slope=None, why_not=why, since_repair_on=since)
    if points[-1][0] < LEAST_YEARS:
        why = f"The readings{after} span less than a year and a half: too short for a slope."
        return Trend(slope=None, why_not=why, since_repair_on=since)
    return Trend(slope=theil_sen(points), since_repair_on=since)


def theil_sen(points: Sequence[tuple[float, float]], *, confidence: float = CONFIDENCE) -> Slope:
    """The Theil-Sen estimate: the median of all pairwise slopes, its interval by ranks.

    Sen, P. K. (1968), "Estimates of the regression coefficient based on Kendall's tau", JASA 63.
    Raises ValueError where no two points differ in time.
    """
    ordered = sorted(points)
    slopes = sorted((b - a) / (u - t) for (t, a), (u, b) in combinations(ordered, 2) if u > t)
    if not slopes:
        raise ValueError("a slope needs two different moments")
    spread = NormalDist().inv_cdf((1 + confidence) / 2) * sqrt(_variance_of_s(ordered))
    low = max(round((len(slopes) - spread) / 2) - 1, 0)
    high = min(round((len(slopes) + spread) / 2), len(slopes) - 1)
    per_year = median(slopes)
    middle = median(value for _, value in ordered) - per_year * median(t for t, _ in ordered)
    return Slope(
        per_year=per_year,
        low=slopes[low],
        high=slopes[high],
        at=middle + per_year * ordered[0][0],
        points=len(ordered),
    )


def _variance_of_s(points: Sequence[tuple[float, float]]) -> float:
    """The variance of Kendall's S under no trend, with its correction for ties (Sen 1968, 2.6)."""

    def term(n: int) -> int:
        return n * (n - 1) * (2 * n + 5)

    tied = _repeats(t for t, _ in points) + _repeats(value for _, value in points)
    return max(term(len(points)) - sum(term(k) for k in tied), 0) / 18


def _repeats(values: Iterable[float]) -> list[int]:
    counts: dict[float, int] = {}
    for value in values:
        counts[value] = counts.get(value, 0) + 1
    return [count for count in counts.values() if count > 1]
