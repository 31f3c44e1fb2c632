"""What a planner is given: visits, testers' days and the minutes between places.

All moments are whole minutes on one axis (see ``moments``), so that a plan over a clock
change needs no special case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Protocol


class Travel(Protocol):
    """Minutes of travel between numbered places; whatever measured them."""

    @property
    def how(self) -> str:
        """The method in words, for the plan to say."""

    def between(self, origin: int, target: int) -> int:
        """Whole minutes from one place to another; nought from a place to itself."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A point on the earth in decimal degrees (WGS 84).

    Raises ValueError for what is no such point, so that a plan never sends anybody there.
    """

    lat: float
    lon: float

    def __post_init__(self) -> None:
        """Refuse impossible coordinates; a NaN fails both comparisons."""
        if not (-90 <= self.lat <= 90 and -180 <= self.lon <= 180):
            raise ValueError(f"no such place: {self.lat}, {self.lon}")


@dataclass(frozen=True, slots=True, order=True)
class Window:
    """Minutes within which a whole visit must lie, both ends included."""

    opens: int
    closes: int


ALWAYS = Window(opens=0, closes=10**7)
"""No restriction: about nineteen years of minutes, small enough for any solver's integers."""


@dataclass(frozen=True, slots=True)
class Promise:
    """What a customer was told: which tester comes, and when."""

    tester: str
    arrive: int
    leave: int


@dataclass(frozen=True, slots=True)
class Stay:
    """The tester's day on which a visit stands already, told to nobody yet.

    It is moved only where that saves more than so many ``minutes`` of driving, or where it must.
    ``arrive`` is the minute it stands at, ``second`` the other tester of a visit of two people.
    """

    tester: str
    day: date
    minutes: int
    arrive: int = 0
    second: str = ""

    @property
    def key(self) -> tuple[str, date]:
        """The key of that tester's day."""
        return (self.tester, self.day)


@dataclass(frozen=True, slots=True)
class Visit:
    """One premises with due assemblies, to be visited once.

    ``place`` is its number in the travel table, None without coordinates. ``skills`` are
    phrases that must all stand on the tester's day. ``windows`` empty means any time.
    ``not_before`` is the first minute that the notice owed to the customer allows.
    ``priority`` is in points (see ``priority``). A promised visit is required. ``barred`` names
    the testers' days that the customer asked not to have. ``people`` is how many testers must be
    there at once; with two, ``second_promise`` is what the second one was promised for. What only
    takes a tester's time ``counts`` not as a visit of the day. ``stay`` is where an earlier plan
    had it: a search begins from there. ``space`` is how many places the parts for it take in the
    van; where two people come, they are in the first one's.
    """

    key: str
    place: int | None
    service_minutes: int
    priority: int = 100
    windows: tuple[Window, ...] = ()
    skills: frozenset[str] = frozenset()
    not_before: int = 0
    required: bool = False
    promise: Promise | None = None
    barred: frozenset[tuple[str, date]] = frozenset()
    people: int = 1
    second_promise: Promise | None = None
    counts: bool = True
    stay: Stay | None = None
    space: int = 0

    @property
    def must_be_planned(self) -> bool:
        """True when leaving it out breaks the plan."""
        return self.required or self.promise is not None

    def open_windows(self) -> tuple[Window, ...]:
        """The windows that the notice leaves, earliest first; empty when none is left."""
        given = sorted(self.windows) or [ALWAYS]
        return tuple(
            Window(opens=max(window.opens, self.not_before), closes=window.closes)
            for window in given
            if window.closes >= self.not_before
        )


@dataclass(frozen=True, slots=True)
class Lunch:
    """A pause of ``minutes`` that must lie inside ``window``."""

    window: Window
    minutes: int


@dataclass(frozen=True, slots=True)
class WorkingDay:
    """One tester on one day: from ``starts`` at the depot until back there by ``ends``.

    ``longest_minutes`` limits the time from leaving the depot to being back, ``most_visits`` how
    many visits the day takes, ``places`` how much the van holds. Two people at one visit are of one
    ``team``.
    """

    tester: str
    day: date
    starts: int
    ends: int
    depot: int
    skills: frozenset[str] = frozenset()
    lunch: Lunch | None = None
    longest_minutes: int | None = None
    most_visits: int | None = None
    places: int | None = None
    team: str = ""

    @property
    def key(self) -> tuple[str, date]:
        """A tester has one such day per date."""
        return (self.tester, self.day)

    def has(self, skills: frozenset[str]) -> bool:
        """True when the tester brings all of these."""
        return skills <= self.skills

    def may_take(self, visit: Visit) -> bool:
        """True when the tester brings what the visit asks for, and nobody asked not to have it.

        The parts for it alone fit into the van.
        """
        promise = visit.promise
        if promise is not None and promise.tester != self.tester:
            return False
        is_wanted = self.has(visit.skills) and self.key not in visit.barred
        return is_wanted and self.has_room(visit, beside=())

    def has_room(self, visit: Visit, *, beside: Sequence[Visit]) -> bool:
        """True when the parts for the visit fit into the van with those for the others."""
        if self.places is None or not visit.space:
            return True
        return visit.space + sum(other.space for other in beside) <= self.places

    def takes(self, visits: Sequence[Visit]) -> bool:
        """True when these are no more visits than the day takes, and their parts fit in the van."""
        if self.most_visits is not None and sum(one.counts for one in visits) > self.most_visits:
            return False
        return self.places is None or sum(one.space for one in visits) <= self.places


_SECOND = "second-"


def second_key(key: str) -> str:
    """The key under which the second person's presence at a visit stands in a plan."""
    return f"{_SECOND}{key}"


def is_second(key: str) -> bool:
    """Whether a key stands for a second person's presence."""
    return key.startswith(_SECOND)


def first_key(key: str) -> str:
    """The key of the visit itself, whichever of its people the key stands for."""
    return key.removeprefix(_SECOND)


@dataclass(frozen=True)
class Problem:
    """Everything a plan is made from. Raises ValueError when keys repeat."""

    visits: tuple[Visit, ...]
    days: tuple[WorkingDay, ...]
    travel: Travel

    def __post_init__(self) -> None:
        """Refuse doubles at construction: a later error would be hard to read."""
        if len(self.visit_by_key) != len(self.visits):
            raise ValueError("two visits have one key")
        if len(self.day_by_key) != len(self.days):
            raise ValueError("a tester has one day twice")

    @cached_property
    def visit_by_key(self) -> Mapping[str, Visit]:
        """Visits by their key."""
        return {visit.key: visit for visit in self.visits}

    @cached_property
    def day_by_key(self) -> Mapping[tuple[str, date], WorkingDay]:
        """Testers' days by tester and date."""
        return {day.key: day for day in self.days}

    def asked_for(self, key: str) -> Visit | None:
        """The visit behind a stop's key, a second person's too; None for what nobody asked for."""
        visit = self.visit_by_key.get(key)
        if visit is not None or not is_second(key):
            return visit
        visit = self.visit_by_key.get(first_key(key))
        return visit if visit is not None and visit.people > 1 else None
