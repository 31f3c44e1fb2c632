"""Spreads tests over weeks or months: never past the law's date, never before a test counts.

A premises is visited once where the windows of its tests allow it. Among all plans that keep
the capacity, one with the fewest days of test credit lost is found by integer programming
(HiGHS, through scipy); where none keeps it, one with the least work over the capacity.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, hstack

from scheduling.domain.level_periods import Capacity, Period, periods_of
from scheduling.domain.level_visits import Duty, Visit, day_in, visits_of

Numbers: TypeAlias = NDArray[Any]
Matrix: TypeAlias = Any
"""A sparse matrix of scipy's."""

TRIES = 40
"""How many capacities are tried in search of one that does."""

LOST_WEIGHS = 1000
"""A day of credit lost counts as so many days by which a test is merely moved."""

SOLVE_SECONDS = 60.0
"""What one question to the solver may take; then its best answer so far is taken, and said."""


@dataclass(frozen=True, kw_only=True)
class Levelling:
    """A proposal: the target of each duty, the load of each period, and what it cost.

    `over` holds the periods whose load is above their room, and by how much; `enough` is then
    the least capacity that would do, or None where none was found. `is_proven` is False where
    the solver was stopped by its time limit with a good but unproven answer.
    """

    targets: Mapping[int, date]
    loads: tuple[int, ...]
    periods: tuple[Period, ...]
    lost_days: int
    visits: int
    is_proven: bool
    enough: int | None = None

    @cached_property
    def over(self) -> tuple[tuple[Period, int], ...]:
        """The periods that do not fit, each with the tests above its room."""
        pairs = zip(self.periods, self.loads, strict=True)
        return tuple((one, load - one.room) for one, load in pairs if load > one.room)

    @property
    def is_feasible(self) -> bool:
        """Whether every period keeps its room."""
        return not self.over


def level(*, duties: Sequence[Duty], capacity: Capacity, first: date, last: date) -> Levelling:
    """Propose a target for every duty, each due between `first` and `last` (ValueError else)."""
    _refuse_outside(duties, first=first, last=last)
    visits = visits_of(duties)
    found = _solved(visits, periods=periods_of(capacity=capacity, first=first, last=last))
    if found.is_feasible:
        return found
    return replace(found, enough=_enough(visits, above=capacity, first=first, last=last))


def _refuse_outside(duties: Sequence[Duty], *, first: date, last: date) -> None:
    for duty in duties:
        if not first <= duty.due_on <= last or duty.from_on > duty.due_on:
            raise ValueError(
                f"{duty.key} counts from {duty.from_on} and is due {duty.due_on}: "
                f"it cannot be levelled between {first} and {last}."
            )


class _Model:
    """How many visits of each kind go to each period: one whole number for each choice."""

    def __init__(self, visits: Sequence[Visit], *, periods: Sequence[Period]) -> None:
        kinds: dict[tuple[object, ...], list[Visit]] = defaultdict(list)
        for visit in visits:
            kinds[visit.likeness].append(visit)
        self.periods = periods
        self.kinds = list(kinds.values())
        self.choices: list[tuple[int, int, date]] = [
            (kind, number, day)
            for kind, alike in enumerate(self.kinds)
            for number, period in enumerate(periods)
            if (day := day_in(alike[0], period=period)) is not None
        ]
        self.lost = np.array([self._first(kind).lost_days(day) for kind, _, day in self.choices])
        self.moved = np.array([self._first(kind).moved_days(day) for kind, _, day in self.choices])
        self.size = np.array([self._first(kind).size for kind, _, _ in self.choices])
        self.kind_of = np.array([kind for kind, _, _ in self.choices])
        self.period_of = np.array([number for _, number, _ in self.choices])
        self.is_proven = True

    def _first(self, kind: int) -> Visit:
        return self.kinds[kind][0]

    def each(self) -> Matrix:
        """Sums the choices of each kind of visit."""
        return self._sums(self.kind_of, np.ones(len(self.choices)), number=len(self.kinds))

    def work(self) -> Matrix:
        """Sums the tests of each period."""
        return self._sums(self.period_of, self.size, number=len(self.periods))

    def room(self) -> Numbers:
        """The tests each period has room for."""
        return np.array([period.room for period in self.periods])

    def _sums(self, group: Numbers, weights: Numbers, *, number: int) -> Matrix:
        columns = np.arange(len(group))
        return csr_array((weights, (group, columns)), shape=(number, len(group)))

    def counts(self) -> Numbers:
        """How many visits there are of each kind."""
        return np.array([len(alike) for alike in self.kinds])

    def cost(self) -> Numbers:
        """What each choice costs: its days lost, then how far it is moved."""
        cost: Numbers = LOST_WEIGHS * self.lost + self.moved
        return cost

    def over(self) -> Numbers:
        """The goal that counts the work above the rooms."""
        return np.concatenate([np.zeros(len(self.choices)), np.ones(len(self.periods))])

    def least_even_load(self) -> int:
        """The least capacity were visits divisible: no whole plan can do with less."""
        shares = np.array([[period.share] for period in self.periods])
        counts = self.counts()
        answer = milp(
            np.append(np.zeros(len(self.choices)), 1.0),
            constraints=[
                LinearConstraint(csr_array(hstack([self.work(), -shares])), -np.inf, 0),
                LinearConstraint(_beside(self.each(), 1, diagonal=0), counts, counts),
            ],
            bounds=Bounds(0, np.inf),
        )
        return int(np.ceil(answer.fun - 1e-6)) if answer.fun is not None else 0

    def solve(
        self, goal: Numbers, *, limits: Sequence[tuple[Numbers, float]], tail: str
    ) -> Numbers | None:
        """Minimise the goal over choices and, behind them, what `tail` adds; None: no plan.

        `tail` "over": one number per period, the work above its room. "": nothing. `limits`:
        earlier goals, each with the value it may not exceed any more.
        """
        extra = len(self.periods) if tail else 0
        counts = self.counts()
        held = [
            LinearConstraint(_beside(self.each(), extra, diagonal=0), counts, counts),
            LinearConstraint(_beside(self.work(), extra, diagonal=-1), -np.inf, self.room()),
        ]
        held += [LinearConstraint(csr_array(past[None, :]), -np.inf, top) for past, top in limits]
        most = np.concatenate([counts[self.kind_of], np.full(extra, np.inf)])
        answer = milp(
            goal,
            constraints=held,
            integrality=np.ones(len(self.choices) + extra),
            bounds=Bounds(0, most),
            options={"time_limit": SOLVE_SECONDS, "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return None
        self.is_proven &= answer.status == 0
        whole: Numbers = np.rint(answer.x)
        return whole


def _beside(matrix: Matrix, extra: int, *, diagonal: int) -> Matrix:
    """The matrix with `extra` more columns: nothing, or one number of its own for each row."""
    if not extra:
        return matrix
    shape = (matrix.shape[0], extra)
    if diagonal == 0:
        right = csr_array(shape)
    else:
        at = np.arange(extra)
        right = csr_array((np.full(extra, diagonal), (at, at)), shape=shape)
    return csr_array(hstack([matrix, right]))


def _solved(visits: Sequence[Visit], *, periods: tuple[Period, ...]) -> Levelling:
    """Keep every room at the least cost; where that cannot be, put the least work over first."""
    model = _Model(visits, periods=periods)
    answer = model.solve(model.cost(), limits=[], tail="") if visits else np.zeros(0)
    if answer is None:
        over = model.over()
        most = model.solve(over, limits=[], tail="over")
        excess = _value(over, most)
        cost = np.concatenate([model.cost(), np.zeros(len(periods))])
        answer = model.solve(cost, limits=[(over, excess)], tail="over")
        answer = most if answer is None else answer
    assert answer is not None  # with work allowed over the room there is always a plan
    return _read(model, answer[: len(model.choices)], periods=periods)


def _value(goal: Numbers, answer: Numbers | None) -> float:
    """What an answer comes to; work over the room is always possible, so there is one."""
    assert answer is not None
    return float(np.rint(goal @ answer))


def _read(model: _Model, numbers: Numbers, *, periods: tuple[Period, ...]) -> Levelling:
    """Hand the counted choices out to the visits: alike ones in order of premises and period."""
    waiting = [iter(alike) for alike in model.kinds]
    targets: dict[int, date] = {}
    loads = [0] * len(periods)
    lost = 0
    for (kind, period, day), number in zip(model.choices, numbers, strict=True):
        for _ in range(int(number)):
            visit = next(waiting[kind])
            targets.update({duty.key: day for duty in visit.duties})
            loads[period] += visit.size
            lost += visit.lost_days(day)
    return Levelling(
        targets=targets,
        loads=tuple(loads),
        periods=periods,
        lost_days=lost,
        visits=sum(len(alike) for alike in model.kinds),
        is_proven=model.is_proven,
    )


def _enough(visits: Sequence[Visit], *, above: Capacity, first: date, last: date) -> int | None:
    """The least capacity under which everything fits, or None where the search was too long.

    Fractions of visits give a number that no capacity can be below; from there on whole
    visits are tried, one more at a time.
    """
    periods = periods_of(capacity=above, first=first, last=last)
    number = max(_Model(visits, periods=periods).least_even_load(), above.number + 1)
    for _ in range(TRIES):
        cut = periods_of(capacity=replace(above, number=number), first=first, last=last)
        model = _Model(visits, periods=cut)
        if not _value(model.over(), model.solve(model.over(), limits=[], tail="over")):
            return number
        number += 1
    return None
