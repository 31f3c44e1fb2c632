"""Tests that are owed, put together into visits on whose days every one of them counts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from scheduling.domain.level_periods import Period


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """One test owed: `from_on` is the first day a test counts for it, `due_on` the law's date.

    `loses_days`: testing early brings the next due date forward by as much (a rolling cycle).
    """

    key: int
    place: int
    from_on: date
    due_on: date
    loses_days: bool = True


@dataclass(frozen=True, slots=True)
class Visit:
    """The tests of one premises that are done together, and the days on which all of them count."""

    duties: tuple[Duty, ...]
    from_on: date
    due_on: date

    @property
    def size(self) -> int:
        """How many tests it is."""
        return len(self.duties)

    def lost_days(self, day: date) -> int:
        """Days of test credit lost when it is done on a day."""
        return sum((duty.due_on - day).days for duty in self.duties if duty.loses_days)

    def moved_days(self, day: date) -> int:
        """Days by which its tests come before their due dates, credit lost or not."""
        return sum((duty.due_on - day).days for duty in self.duties)

    @property
    def likeness(self) -> tuple[object, ...]:
        """Visits that are alike in this are the same to the solver."""
        dues = sorted((duty.due_on, duty.loses_days) for duty in self.duties)
        return (self.from_on, self.due_on, *dues)


def visits_of(duties: Iterable[Duty]) -> tuple[Visit, ...]:
    """Put the tests of each premises into the fewest visits on which every test counts.

    Example: one premises, windows 1 March to 31 May and 10 May to 9 July: one visit, from
    10 to 31 May. Were the second to open on 1 June, it would be two.
    """
    by_place: dict[int, list[Duty]] = defaultdict(list)
    for duty in duties:
        by_place[duty.place].append(duty)
    return tuple(visit for place in sorted(by_place) for visit in _at_one_place(by_place[place]))


def day_in(visit: Visit, *, period: Period) -> date | None:
    """The day of a period for which a visit is aimed: as late as working days and law allow."""
    for latest in (period.closes_on, period.last):
        day = min(latest, visit.due_on)
        if day >= max(visit.from_on, period.first):
            return day
    return None


def _at_one_place(duties: list[Duty]) -> list[Visit]:
    """The fewest days that hit every window: each new one at the earliest due date not yet hit."""
    found: list[list[Duty]] = []
    for duty in sorted(duties, key=lambda one: (one.due_on, one.from_on, one.key)):
        if found and duty.from_on <= found[-1][0].due_on:
            found[-1].append(duty)
        else:
            found.append([duty])
    return [
        Visit(tuple(group), max(duty.from_on for duty in group), group[0].due_on) for group in found
    ]
