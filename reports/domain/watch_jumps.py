"""Readings that rose a good deal with no repair told: wear only lowers them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise
from statistics import median

from reports.domain.watch import Seen, Sighting, Watch

LEAST_RISE = 1.0
TIMES_THE_USUAL = 6.0
LEAST_STEPS = 30
"""Steps of the same type and reading below which the usual change is not known."""


def jumps_without_repair(reports: Sequence[Seen]) -> Iterator[Sighting]:
    """Assemblies with a reading that rose by more than six times the usual change, and 1 psid.

    The usual change is 1.4826 times the median of the absolute changes of the type and reading:
    the scale of a normal spread, whatever a few wild ones do (Hampel, 1974). Debris that cleared
    by itself, or a supply pressure that changed, does it too.
    """
    steps = list(_steps(reports))
    usual = _usual(steps)
    for earlier, later, name, rise in steps:
        scale = usual.get((later.type, name))
        if scale is None or rise <= max(LEAST_RISE, TIMES_THE_USUAL * scale):
            continue
        was, now = dict(_left(earlier))[name], dict(later.figures)[name]
        yield Sighting(
            watch=Watch.JUMPS,
            about=later.tester or "no tester named",
            words=f"{name.replace('_', ' ')} {was:f} on {earlier.on.isoformat()}, {now:f} on"
            f" {later.on.isoformat()}, and no repair between is on record;"
            f" the usual change is {scale:.1f}",
            by_chance=None,
            tests=(earlier.test_id, later.test_id),
        )


_Step = tuple[Seen, Seen, str, float]


def _steps(reports: Sequence[Seen]) -> Iterator[_Step]:
    courses: dict[int, list[Seen]] = {}
    for one in sorted(reports, key=lambda one: (one.on, one.test_id)):
        courses.setdefault(one.assembly_id, []).append(one)
    for course in courses.values():
        for earlier, later in pairwise(course):
            was = dict(_left(earlier))
            for name, figure in later.figures:
                if name in was:
                    yield earlier, later, name, float(figure - was[name])


def _left(one: Seen) -> tuple[tuple[str, Decimal], ...]:
    """What stood after a test: what a repair left is not held against what was found."""
    return one.left if one.was_repaired else one.figures


def _usual(steps: Sequence[_Step]) -> dict[tuple[str, str], float]:
    changes: dict[tuple[str, str], list[float]] = {}
    for _, later, name, rise in steps:
        changes.setdefault((later.type, name), []).append(abs(rise))
    return {key: 1.4826 * median(some) for key, some in changes.items() if len(some) >= LEAST_STEPS}
