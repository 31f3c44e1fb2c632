"""Times that cannot both be true: two tests closer in time than the way between them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from math import asin, cos, radians, sin, sqrt

from reports.domain.watch import Seen, Sighting, Watch

FASTEST_KMH = 110.0
"""Faster than any town is crossed: straight ahead, without a light."""

SLACK_MINUTES = 10
"""Times are written down to five minutes at best, on both papers."""

EARTH_KM = 6371.0


def impossible_times(reports: Sequence[Seen]) -> Iterator[Sighting]:
    """One tester, or one gauge, at two premises with less time between than the way takes.

    Two tests 40 km apart take 22 minutes at 110 km/h; ten minutes of slack leave 12: written
    down 5 minutes apart they are looked at.
    """
    yield from _pairs(reports, who=lambda one: one.tester, what="tester")
    yield from _pairs(reports, who=lambda one: one.gauge, what="gauge")


def km_between(one: Seen, other: Seen) -> float | None:
    """The great-circle distance; None where a place is not known."""
    if one.lat is None or one.lon is None or other.lat is None or other.lon is None:
        return None
    north, south = radians(one.lat), radians(other.lat)
    up, across = sin((north - south) / 2), sin(radians(one.lon - other.lon) / 2)
    return 2 * EARTH_KM * asin(sqrt(up * up + cos(north) * cos(south) * across * across))


def _pairs(reports: Sequence[Seen], *, who: Callable[[Seen], str], what: str) -> Iterator[Sighting]:
    days: dict[tuple[str, object], list[Seen]] = {}
    for one in reports:
        if who(one) and one.at is not None:
            days.setdefault((who(one), one.on), []).append(one)
    for (name, _), some in sorted(days.items(), key=lambda item: (item[0][0], str(item[0][1]))):
        ordered = sorted(some, key=lambda one: (_minutes(one), one.test_id))
        for earlier, later in pairwise(ordered):
            # A gauge that went with its tester is told once, under the tester.
            if what == "gauge" and earlier.tester and earlier.tester == later.tester:
                continue
            told = _told(earlier, later)
            if told:
                yield Sighting(
                    watch=Watch.TIMES,
                    about=f"{what} {name}",
                    words=told,
                    by_chance=None,
                    tests=(earlier.test_id, later.test_id),
                )


def _told(earlier: Seen, later: Seen) -> str:
    if earlier.premises_id == later.premises_id:
        return ""
    distance = km_between(earlier, later)
    if distance is None:
        return ""
    gap = _minutes(later) - _minutes(earlier)
    way = distance / FASTEST_KMH * 60
    if way <= gap + SLACK_MINUTES:
        return ""
    return (
        f"on {earlier.on.isoformat()} at {earlier.at:%H:%M} and {later.at:%H:%M}: {gap} minutes"
        f" apart, and {distance:.0f} km, which take {way:.0f} minutes at {FASTEST_KMH:.0f} km/h"
    )


def _minutes(one: Seen) -> int:
    assert one.at is not None
    return one.at.hour * 60 + one.at.minute
