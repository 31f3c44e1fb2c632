"""How long a visit takes: set up once per premises, then each assembly by type and size.

The figures are defaults that a program may replace. Their order of size is common practice
of the trade, not a published standard; the one published figure near them is that a test
usually needs the water off for 5 to 20 minutes (Caswell Beach NC).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

COMMON_PRACTICE = "common practice"

DEFAULT_BY_TYPE: Mapping[str, int] = {
    # Common practice: minutes at the assembly, gauge on and off, tag and notes written.
    "RP": 20,
    "DC": 15,
    "RPDA": 35,  # main and metered bypass are two tests (trade practice)
    "DCDA": 30,
    "RPDA-II": 28,
    "DCDA-II": 22,
    "PVB": 12,
    "SVB": 12,
    "AVB": 8,  # inspected, not tested
    "AG": 8,
}

DEFAULT_BY_SIZE: tuple[tuple[Decimal, int], ...] = (
    # Common practice: valves of this size and above (inches) take so much longer to work.
    (Decimal("2.5"), 5),
    (Decimal(6), 10),
)


@dataclass(frozen=True, slots=True)
class VisitTimes:
    """Minutes for visits, with where they come from.

    ``learned`` replaces type and size together: by type and the size from which it counts.
    """

    setup_minutes: int = 10  # common practice: park, find a person, shut the water
    by_type: Mapping[str, int] = field(default_factory=lambda: DEFAULT_BY_TYPE)
    other_type: int = 20  # common practice: as long as an RP when the type is not listed
    by_size: tuple[tuple[Decimal, int], ...] = DEFAULT_BY_SIZE
    source: str = COMMON_PRACTICE
    learned: Mapping[tuple[str, Decimal | None], int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class AssemblyJob:
    """One assembly to be tested: its type as the glossary writes it, its size in inches."""

    assembly_type: str
    size_in: Decimal | None = None


def service_minutes(jobs: Sequence[AssemblyJob], *, times: VisitTimes) -> int:
    """Minutes at one premises for all its jobs; nought without jobs.

    By the defaults, an RP of 3/4 in and a DC of 6 in: 10 + 20 + (15 + 10) = 55.
    """
    if not jobs:
        return 0
    return times.setup_minutes + sum(job_minutes(job, times=times) for job in jobs)


def job_minutes(job: AssemblyJob, *, times: VisitTimes) -> int:
    """Minutes at one assembly, without setting up."""
    known = times.learned.get((job.assembly_type, job_band(job)))
    if known is not None:
        return known
    base = times.by_type.get(job.assembly_type, times.other_type)
    if job.size_in is None:
        return base
    extra = [more for size, more in times.by_size if job.size_in >= size]
    return base + max(extra, default=0)


def job_band(job: AssemblyJob) -> Decimal | None:
    """The size from which a job counts as larger: None below 2.5 in, then 2.5, then 6."""
    if job.size_in is None:
        return None
    return max((size for size, _more in DEFAULT_BY_SIZE if job.size_in >= size), default=None)
