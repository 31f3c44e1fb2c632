"""Which visit is worth most when hours are short: points from failure, hazard and due date."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

LEAST_POINTS = 100
"""What the least urgent assembly counts. A solver's prize per point must make even this worth
more than a day's drive, so that nothing is left out to save fuel."""

FAILED = 2000
HIGH_HAZARD_FACTOR = 2
OVERDUE = 600
MOST_OVERDUE_DAYS = 400
COMING_DAYS = 100


@dataclass(frozen=True, slots=True)
class DueTest:
    """One open or coming obligation, as the planner sees it. Not assessed counts as high.

    ``target_on``, from levelling, is when it is wanted; it makes nothing overdue.
    """

    due_on: date
    failed: bool
    high_hazard: bool
    target_on: date | None = None


def points(test: DueTest, *, on: date) -> int:
    """Points of one test on a day: failed above overdue above coming; high hazard doubles.

    Our own weights, not a published scale. Overdue by 30 days on low hazard is 630; due in
    40 days is 160; due in 40 days but aimed at today, 200; a failed assembly on high hazard
    is 4000 and a day more each day overdue.
    """
    late = (on - test.due_on).days
    if test.failed:
        base = FAILED + min(max(late, 0), MOST_OVERDUE_DAYS)
    elif late > 0:
        base = OVERDUE + min(late, MOST_OVERDUE_DAYS)
    else:
        wanted = min(test.target_on or test.due_on, test.due_on)
        base = LEAST_POINTS + max(COMING_DAYS + min((on - wanted).days, COMING_DAYS), 0)
    return base * HIGH_HAZARD_FACTOR if test.high_hazard else base


def visit_points(tests: Iterable[DueTest], *, on: date) -> int:
    """Points of a visit: those of all its tests, since one drive does them all."""
    return max(sum(points(test, on=on) for test in tests), LEAST_POINTS)
