"""The chance that a reading is below its limit at the next test, from its history and its peers.

A step is a test with what was known before it. Among peers' steps the next reading is regressed
on the one before, the one before that where there is one, and the years between; what the line
leaves unexplained is kept as it is, lopsided or not. The chance is the share of those remainders
that would take this assembly below its limit. Nothing is assumed normal, and nothing is said
where peers are few. The method and how well it holds: docs/trends.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from registry.domain.kinds import AssemblyType
from reports.domain.trends import DAYS_A_YEAR, Observed

LEAST_STEPS = 80
"""Steps of peers below which nothing is said: one more failure would move the chance by a point."""

SHORTEST_YEARS, LONGEST_YEARS = 0.2, 6.0


class SizeBand(StrEnum):
    """Nominal sizes that age alike (common practice; no published rates were found)."""

    SMALL = "up to 1 in"
    MIDDLE = "1¼ to 2 in"
    LARGE = "2½ in and over"


class AgeBand(StrEnum):
    """Ages at the test (common practice)."""

    NEW = "under 5 years"
    MIDDLE = "5 to 15 years"
    OLD = "over 15 years"
    UNKNOWN = "of unknown age"


@dataclass(frozen=True, kw_only=True)
class Kin:
    """What makes assemblies peers at a test."""

    type: AssemblyType
    size: SizeBand
    age: AgeBand


@dataclass(frozen=True, kw_only=True)
class Step:
    """One test with what stood before it; `fell_in_words` is a failure without a figure."""

    kin: Kin
    years: float
    last: float
    before: float | None
    found: float | None
    fell_in_words: bool


@dataclass(frozen=True, kw_only=True)
class Chance:
    """The chance of falling below, with the peers it was worked out from."""

    share: float
    peers: str
    steps: int
    fell: int
    """How many of the peers' remainders would take it below."""


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """No chance, and why."""

    why: str


def size_band(size_in: float) -> SizeBand:
    """The band of a nominal size in inches."""
    if size_in <= 1:
        return SizeBand.SMALL
    return SizeBand.MIDDLE if size_in <= 2 else SizeBand.LARGE


def age_band(installed_on: date | None, *, on: date) -> AgeBand:
    """The band of an age on a day."""
    if installed_on is None or installed_on > on:
        return AgeBand.UNKNOWN
    years = (on - installed_on).days / DAYS_A_YEAR
    if years < 5:
        return AgeBand.NEW
    return AgeBand.MIDDLE if years <= 15 else AgeBand.OLD


def steps_of(
    history: Sequence[Observed],
    *,
    type_: AssemblyType,
    size_in: float,
    installed_on: date | None,
) -> Iterator[Step]:
    """The steps of one assembly and reading, in the unit of its limit.

    A repair starts afresh: what stood before it is no history of what was put in.
    """
    ordered = sorted(history, key=lambda one: one.on)
    last: Observed | None = None
    before: float | None = None
    for one in ordered:
        if last is not None and last.left is not None:
            years = (one.on - last.on).days / DAYS_A_YEAR
            told = one.found is not None or one.found_failing
            if told and SHORTEST_YEARS <= years <= LONGEST_YEARS:
                age = age_band(installed_on, on=one.on)
                yield Step(
                    kin=Kin(type=type_, size=size_band(size_in), age=age),
                    years=years,
                    last=last.left,
                    before=before,
                    found=one.found,
                    fell_in_words=one.found is None,
                )
        before = last.left if last is not None and not one.was_repaired else None
        last = one


def chance_of_falling(
    history: Sequence[Observed],
    *,
    kin: Kin,
    limit: float,
    next_on: date,
    peers: Sequence[Step],
) -> Chance | Unknown:
    """The chance that the reading found at a test on `next_on` is below `limit`."""
    ordered = sorted(history, key=lambda one: one.on)
    if not ordered or ordered[-1].left is None:
        return Unknown(why="The last test left no figure to go on from.")
    last = ordered[-1]
    years = (next_on - last.on).days / DAYS_A_YEAR
    if years > LONGEST_YEARS:
        return Unknown(why="Its last figure is more than six years old.")
    before = None
    if len(ordered) > 1 and not last.was_repaired:
        before = ordered[-2].left
    chosen, named = _chosen(peers, kin=kin)
    if len(chosen) < LEAST_STEPS:
        return Unknown(
            why=f"Too little is known: {len(chosen)} tests of peers ({named}) with a figure before"
            f" them, and {LEAST_STEPS} are needed."
        )
    assert last.left is not None
    now = (max(years, SHORTEST_YEARS), last.left, before)
    return _chance(chosen, now=now, limit=limit, named=named)


def at_least_one(chances: Sequence[float]) -> float:
    """The chance that any of several falls below, were they independent.

    They are not quite: what fouls one check may foul both. The true figure lies between the
    largest of them and this one.
    """
    stay = 1.0
    for chance in chances:
        stay *= 1 - chance
    return 1 - stay


def _chosen(peers: Sequence[Step], *, kin: Kin) -> tuple[list[Step], str]:
    """The narrowest circle of peers that is large enough, else the widest, and its name."""
    same = [step for step in peers if step.kin.type is kin.type]
    sized = [step for step in same if step.kin.size is kin.size]
    aged = [step for step in sized if step.kin.age is kin.age]
    if len(aged) >= LEAST_STEPS and kin.age is not AgeBand.UNKNOWN:
        return aged, f"{kin.type}, {kin.size}, {kin.age}"
    if len(sized) >= LEAST_STEPS:
        return sized, f"{kin.type}, {kin.size}"
    return same, f"{kin.type} of every size"


def _chance(
    steps: Sequence[Step],
    *,
    now: tuple[float, float, float | None],
    limit: float,
    named: str,
) -> Chance:
    """Share of the remainders that take it below, and of the failures told in words."""
    years, last, before = now
    in_words = sum(1 for step in steps if step.fell_in_words)
    figures = [step for step in steps if step.found is not None]
    longer = [step for step in figures if step.before is not None]
    if before is not None and len(longer) >= LEAST_STEPS:
        rows = [(1.0, s.last, s.years, s.before or 0.0) for s in longer]
        mine = (1.0, last, years, before)
        found = [s.found or 0.0 for s in longer]
    else:
        rows = [(1.0, s.last, s.years) for s in figures]  # type: ignore[misc]
        mine = (1.0, last, years)  # type: ignore[assignment]
        found = [s.found or 0.0 for s in figures]
    below, of = _remainders_below(rows, found, mine=mine, limit=limit)
    word_share = (in_words + 0.5) / (len(steps) + 1) if in_words else 0.0
    figure_share = (below + 0.5) / (of + 1)  # Jeffreys' prior: never quite nought or one
    return Chance(
        share=word_share + (1 - word_share) * figure_share,
        peers=named,
        steps=len(steps),
        fell=below + in_words,
    )


def _remainders_below(
    rows: Sequence[Sequence[float]], found: Sequence[float], *, mine: Sequence[float], limit: float
) -> tuple[int, int]:
    if not rows:
        return 0, 0
    table, values = np.asarray(rows), np.asarray(found)
    line, *_ = np.linalg.lstsq(table, values, rcond=None)
    reached = float(np.asarray(mine) @ line) + (values - table @ line)
    return int(np.count_nonzero(reached < limit - _half_a_mark(values))), len(values)


def _half_a_mark(values: npt.NDArray[np.float64]) -> float:
    """Half of what the peers' figures are rounded to: what comes to 1.96 is written 2.0 and meets.

    Tenths, where all are tenths; else nothing.
    """
    tenths = values * 10
    return 0.05 if bool(np.all(np.abs(tenths - np.round(tenths)) < 1e-6)) else 0.0
