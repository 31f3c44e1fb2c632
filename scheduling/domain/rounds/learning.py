"""How long a test really takes, from what past visits say: the middle of many.

A sample is what lies between the times of two tests that one tester did at one premises on one
day: the second test with all that belongs to it, without a drive and without setting up.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from statistics import median

from scheduling.domain.rounds.minutes import AssemblyJob, VisitTimes, job_band

ENOUGH_SAMPLES = 20
"""So many of one type and size at least, else the default stands: our own choice."""

SHORTEST, LONGEST = 3, 120
"""Minutes; what lies outside is no test: times written in one go, or a lunch between."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One past test: what was tested, and the minutes since the test before it at that visit."""

    job: AssemblyJob
    minutes: int


@dataclass(frozen=True, slots=True)
class Learned:
    """The middle of past tests of one type and size, and of how many."""

    assembly_type: str
    from_size: Decimal | None
    minutes: int
    samples: int

    @property
    def words(self) -> str:
        """As a plan says it."""
        size = f" from {self.from_size} in" if self.from_size is not None else ""
        return f"{self.assembly_type}{size} {self.minutes} min from {self.samples} tests"


def learned_from(samples: Iterable[Sample]) -> tuple[Learned, ...]:
    """What there is enough of, by type and size.

    Twenty tests of an RP of 1 in, ten that took 14 minutes and ten that took 17: 16 (the middle of
    15.5, rounded up).
    """
    found: dict[tuple[str, Decimal | None], list[int]] = defaultdict(list)
    for sample in samples:
        if SHORTEST <= sample.minutes <= LONGEST:
            found[sample.job.assembly_type, job_band(sample.job)].append(sample.minutes)
    return tuple(
        Learned(kind, size, -int(-median(minutes) // 1), len(minutes))
        for (kind, size), minutes in sorted(found.items(), key=lambda one: str(one[0]))
        if len(minutes) >= ENOUGH_SAMPLES
    )


def times_with(learned: Iterable[Learned], *, base: VisitTimes) -> VisitTimes:
    """The times with what was learned in the place of the defaults, and words that say so."""
    rows = tuple(learned)
    if not rows:
        return base
    by_job: Mapping[tuple[str, Decimal | None], int] = {
        (row.assembly_type, row.from_size): row.minutes for row in rows
    }
    words = "; ".join(row.words for row in rows)
    return replace(base, learned=by_job, source=f"learned: {words}; the rest {base.source}")
