"""What a planner gives back: rounds of stops, and every visit left out with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise

from scheduling.domain.rounds.visits import Problem, Travel


@dataclass(frozen=True, slots=True)
class Stop:
    """A visit with its minutes: work begins at ``arrive`` and is over at ``leave``."""

    visit: str
    place: int
    arrive: int
    leave: int


@dataclass(frozen=True, slots=True)
class Round:
    """A tester's day and its stops in order of driving."""

    tester: str
    day: date
    depot: int
    stops: tuple[Stop, ...]

    @property
    def key(self) -> tuple[str, date]:
        """The key of the tester's day it fills."""
        return (self.tester, self.day)


class Cause(StrEnum):
    """Why a visit is in no round, cheapest to find out first."""

    NO_COORDINATES = "no coordinates"
    PROMISED = "promised"
    NO_TESTER = "no tester"
    NO_SKILL = "no skill"
    FORBIDDEN = "forbidden"
    NO_ROOM = "no room in the van"
    TWO_PEOPLE = "two people"
    NOTICE = "notice"
    NO_WINDOW = "no window"
    TOO_LONG = "too long"
    MOST_VISITS = "most visits"
    LONGEST_DAY = "longest day"
    NOT_ENOUGH_HOURS = "not enough hours"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A visit in no round, with the cause and a sentence for the dispatcher."""

    visit: str
    cause: Cause
    words: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Rounds and what they leave out. ``how`` names what made it."""

    rounds: tuple[Round, ...]
    left_out: tuple[LeftOut, ...]
    how: str


def drive_minutes(planned: Round, *, travel: Travel) -> int:
    """Minutes at the wheel from the depot through all stops and back; nought without stops."""
    if not planned.stops:
        return 0
    places = [planned.depot, *(stop.place for stop in planned.stops), planned.depot]
    return sum(travel.between(here, there) for here, there in pairwise(places))


def work_minutes(planned: Round, *, problem: Problem) -> int:
    """Minutes of testing and setting up at all stops, a second person's presence too."""
    asked = [problem.asked_for(stop.visit) for stop in planned.stops]
    return sum(visit.service_minutes for visit in asked if visit is not None)
