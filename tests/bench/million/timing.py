"""A measure beside its limit, and how the two are timed."""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

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


CLOCK: Final = os.environ.get("BENCH_CLOCK", "")
"""`processor`: what this process and its session of the database worked, whoever else works."""


def now() -> float:
    """Return a moment, in seconds: of the wall clock, or of the work done so far."""
    if CLOCK != "processor":
        return time.perf_counter()
    return time.process_time() + (_session() if connection.vendor == "postgresql" else 0)


def _session() -> float:
    """Return the processor time of this session's server process, parallel workers left out."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        pid = cursor.fetchone()[0]
    spent = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(spent[11]) + int(spent[12])) / os.sysconf("SC_CLK_TCK")


def timed(work: Callable[[], object]) -> float:
    """Return the seconds one run takes."""
    started = now()
    work()
    return now() - started


def clocked(work: Callable[[], object]) -> float:
    """Return the seconds by the wall clock, for what takes less than a look at the other one."""
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
