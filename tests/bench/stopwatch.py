"""Measures a piece of work several times and keeps the best."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Measure:
    """What was measured: its name, the best time in seconds, and for how many items."""

    name: str
    seconds: float
    items: int

    @property
    def per_item(self) -> float:
        """Seconds for one item."""
        return self.seconds / self.items


def measure(name: str, work: Callable[[], object], *, items: int = 1, times: int = 3) -> Measure:
    """Return the best of several runs; the first one warms up what is cached."""
    found = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        found.append(time.perf_counter() - started)
    return Measure(name=name, seconds=min(found), items=items)


def lines_against(yardstick: Measure, *, measured: list[Measure]) -> list[str]:
    """Return the figures as lines: seconds, microseconds an item, and how many yardsticks."""
    head = f"{'':<34}{'seconds':>10}{'µs an item':>14}{'yardsticks':>14}"
    rows = [
        f"{one.name:<34}{one.seconds:>10.3f}{one.per_item * 1e6:>14.1f}"
        f"{one.seconds / yardstick.seconds:>14.2f}"
        for one in [yardstick, *measured]
    ]
    return [head, *rows]
