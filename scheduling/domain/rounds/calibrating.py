"""How fast roads are really driven, from what past days say: the middle of many drives.

A drive is what lies between the beginnings of two visits of one tester on one day, less the work
at the first. Lunch, talk and waiting hide in it, so the middle counts and not the mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

ENOUGH_DRIVES = 60
ENOUGH_DAYS = 10
"""So many drives on so many testers' days at least, else the defaults stand: our own choice."""

LEAST_MINUTES = 4
"""Shorter expected drives are left out: parking and walking outweigh them."""

SLOWEST, QUICKEST = 2.5, 0.5
"""No calibration leaves these bounds: beyond them the times on the reports are wrong."""


@dataclass(frozen=True, slots=True)
class Drive:
    """One past drive: minutes expected, and minutes it took; `day` names tester and day."""

    day: str
    expected: float
    took: float


@dataclass(frozen=True, slots=True)
class Pace:
    """How many times the expected minutes a drive takes, from how many drives on how many days."""

    times: float
    drives: int
    days: int


def pace_of(drives: Sequence[Drive]) -> Pace | None:
    """The pace of past drives, or None while there are not enough of them.

    Expected 10, 12 and 20 minutes that took 13, 15 and 30: ratios 1.3, 1.25, 1.5, pace 1.3.
    """
    kept = [one for one in drives if one.expected >= LEAST_MINUTES and one.took > 0]
    days = {one.day for one in kept}
    if len(kept) < ENOUGH_DRIVES or len(days) < ENOUGH_DAYS:
        return None
    times = median(one.took / one.expected for one in kept)
    return Pace(min(max(times, QUICKEST), SLOWEST), len(kept), len(days))
