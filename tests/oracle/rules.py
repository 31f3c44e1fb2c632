"""The three teaching rulebooks, written down a second time as plain Python values.

They are typed here from the published wording of the rules, not read from `fixtures/rulebooks`,
so that a slip in either place shows as a difference.
"""

from __future__ import annotations

import calendar
from datetime import date, timedelta

EVENT_DAYS = 10  # "within 10 days of installation; within 10 days of a repair or relocation"
GRACE_DAYS = 10  # "back in use after idle: no test asked, ten days' grace"
NO_DATE_DAYS = 30  # "no dates at all: ... due 30 days on"
CURE_DAYS = {"high": 7, "not assessed": 7, "low": 21}  # not assessed is treated as high
ROLLING_OPENS_DAYS = 60
EARLY_WINDOW_DAYS = 45
EXEMPT = {"AG", "AVB"}  # no field test
REDUCED_PRESSURE = {"RP", "RPDA", "RPDA-II"}  # a detector follows its plain sister

REMINDER_DAYS = 45
SECOND_REMINDER_DAYS = 15
SECOND_OVERDUE_GAP = 14
FINAL_GAP = 15
ORDER_GAP = 10

DAY_ORDER = [
    "installed",
    "resumed",
    "relocated",
    "failed",
    "repaired",
    "passed",
    "idled",
    "removed",
]


def days(count: int) -> timedelta:
    """So many calendar days."""
    return timedelta(days=count)


def months_after(day: date, count: int) -> date:
    """The same day of the month `count` months on, or that month's last day where there is none.

    31 August + 6 months is 28 February (29 in a leap year); 29 February + 12 months is 28 February.
    """
    whole = day.year * 12 + (day.month - 1) + count
    year, month = whole // 12, whole % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def rolling_months(kind: str, hazard: str) -> int:
    """Due one year after the last pass; an RP or RPDA on high hazard six months."""
    return 6 if kind in REDUCED_PRESSURE and hazard != "low" else 12


def credited_season(passed_on: date) -> int:
    """The year of the 31 May between the 1 October and 30 September that hold the pass."""
    return passed_on.year + 1 if passed_on.month >= 10 else passed_on.year
