"""What visits take of a day besides minutes, in the routing engine's terms: loads of a vehicle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay

_A_LOT = 10**6
"""For a day where nobody set a limit."""


@dataclass(frozen=True, slots=True)
class Loads:
    """Which limits the problem has: visits a day, places in vans.

    One that nobody set is not told at all, so that the engine's search is as without it.
    """

    counts: bool
    spaces: bool

    @classmethod
    def of(cls, problem: Problem) -> Self:
        """The limits of the problem."""
        return cls(
            counts=any(day.most_visits is not None for day in problem.days),
            spaces=any(day.places is not None for day in problem.days)
            and any(visit.space for visit in problem.visits),
        )

    def taken(self, visit: Visit | None) -> list[int]:
        """What a visit takes of each limit; a lunch takes nothing."""
        counts, space = (0, 0) if visit is None else (int(visit.counts), visit.space)
        return [counts] * self.counts + [space] * self.spaces

    def given(self, day: WorkingDay) -> list[int]:
        """What a day gives of each."""
        most = _A_LOT if day.most_visits is None else day.most_visits
        places = _A_LOT if day.places is None else day.places
        return [most] * self.counts + [places] * self.spaces
