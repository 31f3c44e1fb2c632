"""A measure beside its limit, and how the two are timed."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

from django.db import connection, transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table: what was measured beside what, and how many times it may take."""

    name: str
    seconds: float
    limit: float
    reach: float
    note: str = ""
    unit: str = "s"

    @property
    def ratio(self) -> float:
        """How many times the limit."""
        return self.seconds / self.limit

    @property
    def is_reached(self) -> bool:
        """Whether the work stays within its reach."""
        return self.ratio <= self.reach


def timed(work: Callable[[], object]) -> float:
    """Return the seconds one run takes."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def rolled_back(work: Callable[[], object]) -> float:
    """Return the seconds of work whose writes are thrown away afterwards.

    The keys of other tables are looked up within that time, as a commit would.
    """
    with transaction.atomic():
        took = timed(work) + timed(keys_looked_up)
        transaction.set_rollback(True)
    return took


def keys_looked_up() -> None:
    """Look up what PostgreSQL puts off until the commit; SQLite has counted as it wrote."""
    if connection.vendor == "postgresql":
        connection.check_constraints()


def medians(
    work: Callable[[], float], limit: Callable[[], float], *, times: int
) -> tuple[float, float]:
    """Measure the two in turn, so that a busy moment meets both; return their medians."""
    pairs = [(work(), limit()) for _ in range(times)]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)
