"""Where visits stand already, in the routing engine's terms: each as one more way to be served.

That way is open to one tester on one day, and its prize is higher by what moving must save.
"""

from __future__ import annotations

from collections.abc import Mapping

from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay
from scheduling.domain.rounds.weights import DRIVE_MINUTE_COST, OUT_MINUTE_COST
from scheduling.routing_spans import start_spans

MOST_CELLS = 20_000_000
"""Up to so many cells of travel times the engine knows of stays: each tester with one needs a table
of their own. In a larger week only what goes back afterwards does."""


def stays_of(problem: Problem) -> Mapping[str, WorkingDay]:
    """By a visit's key the tester's day on which it stands and may stay."""
    found: dict[str, WorkingDay] = {}
    for visit in problem.visits:
        if visit.stay is None or visit.promise is not None or not visit.stay.minutes:
            continue
        day = problem.day_by_key.get(visit.stay.key)
        if day is not None and day.may_take(visit) and stay_spans(visit, day):
            found[visit.key] = day
    testers = len({day.tester for day in found.values()})
    places = len(problem.visits) + len(found) + len(problem.days)
    return found if testers * places**2 <= MOST_CELLS else {}


def stay_spans(visit: Visit, day: WorkingDay) -> list[tuple[int, int]]:
    """First and last minute at which the visit may begin on that day, one pair per window."""
    clipped = (
        (max(early, day.starts), min(late, day.ends))
        for early, late in start_spans(visit, able=[day])
    )
    return [(early, late) for early, late in clipped if early <= late]


def stay_prize(visit: Visit) -> int:
    """What the engine earns more where a visit stays: the driving that moving it must save."""
    minutes = 0 if visit.stay is None else visit.stay.minutes
    return minutes * (DRIVE_MINUTE_COST + OUT_MINUTE_COST)
