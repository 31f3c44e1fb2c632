"""How long the engine looks, when it stops, and what it tells while it looks."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import pyvrp
from pyvrp.IteratedLocalSearch import IteratedLocalSearchCallbacks
from pyvrp.stop import MaxIterations, MaxRuntime, MultipleCriteria

IDLE_ITERATIONS = 2_000
IDLE_ITERATIONS_PER_VISIT = 20
"""Without a better plan for so many in all, a run with a cap on seconds stops early."""

TELL_EVERY = 1.0
"""Seconds between two words on how the search stands."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look: exactly ``iterations`` (repeats exactly with the seed) or ``seconds``.

    ``seconds`` only caps. With both, whichever is over first.
    """

    iterations: int | None = None
    seconds: float | None = None
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Progress:
    """How the search stands, with the visits and drive of the best plan so far.

    A very large week is planned in ``parts``, one after the other; ``part`` is the one looked at.
    """

    seconds: float
    iterations: int
    planned: int
    drive_minutes: int
    part: int = 1
    parts: int = 1


class Telling(IteratedLocalSearchCallbacks):
    """Tells once a second how the search stands."""

    def __init__(self, tell: Callable[[Progress], None]) -> None:
        self._tell = tell
        self._began = time.perf_counter()
        self._told = 0.0
        self.lunches = 0
        self.part = self.parts = 1
        self._iterations = 0
        self._before = self._best = (0, 0)

    def begin_next(self) -> None:
        """What was found so far stands; the next part is told on top of it."""
        self._before = (self._before[0] + self._best[0], self._before[1] + self._best[1])
        self._best = (0, 0)
        self.part = min(self.part + 1, self.parts)

    def on_iteration(
        self,
        current: pyvrp.Solution,
        candidate: pyvrp.Solution,
        best: pyvrp.Solution,
        cost_evaluator: pyvrp.CostEvaluator,
    ) -> None:
        """Called by the engine after each iteration."""
        self._iterations += 1
        elapsed = time.perf_counter() - self._began
        if elapsed - self._told >= TELL_EVERY:
            self._told = elapsed
            self._best = (best.num_clients() - self.lunches, best.distance())
            planned, drive = (a + b for a, b in zip(self._before, self._best, strict=True))
            told = Progress(elapsed, self._iterations, planned, drive, self.part, self.parts)
            self._tell(told)


class Enough:
    """A stopping criterion that a person decides."""

    def __init__(self, is_enough: Callable[[], bool]) -> None:
        self._is_enough = is_enough
        self._asked = time.perf_counter()

    def __call__(self, best_cost: int) -> bool:
        """Called by the engine before each iteration."""
        now = time.perf_counter()
        if now - self._asked < 1:
            return False
        self._asked = now
        return self._is_enough()


class Idle:
    """Counts the iterations since the best plan became better, and stops after ``most``."""

    def __init__(self, *, visits: int) -> None:
        self._most = IDLE_ITERATIONS + IDLE_ITERATIONS_PER_VISIT * visits
        self._best: int | None = None
        self._all = self._idle = 0

    @property
    def is_stuck(self) -> bool:
        """Whether the best plan came in the first half of the search."""
        return self._idle * 2 > self._all

    def __call__(self, best_cost: int) -> bool:
        """Called by the engine before each iteration."""
        self._all += 1
        self._idle += 1
        if self._best is None or best_cost < self._best:
            self._best, self._idle = best_cost, 0
        return self._idle >= self._most


def stop_of(
    effort: Effort, *, idle: Idle, is_enough: Callable[[], bool] | None
) -> MultipleCriteria:
    """When the engine stops: the effort is spent, nothing better comes, or a person says so."""
    criteria: list[pyvrp.stop.StoppingCriterion] = []
    if is_enough is not None:
        criteria.append(Enough(is_enough))
    if effort.iterations is not None:
        criteria.append(MaxIterations(effort.iterations))
    if effort.seconds is not None:
        criteria.append(MaxRuntime(effort.seconds))
    if effort.iterations is None:
        criteria.append(idle)
    return MultipleCriteria(criteria)
