"""What a person must bring to a visit in the routing engine's terms, and where lunch may be eaten.

The engine forbids by phrases: a skill, a promise to come in person, a customer's wish not to have
somebody. A location asks for phrases, a tester's day brings some.
"""

from __future__ import annotations

from datetime import date

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.timing import Schedule, scheduled
from scheduling.domain.rounds.visits import Visit, WorkingDay

DayKey = tuple[str, date]

NEAREST = 10
"""Places near a lunch where it may be eaten as well, so that a day can change around it."""


def asked_of(visit: Visit) -> frozenset[str]:
    """All the phrases that a visit asks for."""
    asks = visit.skills | ({welcome(visit.barred)} if visit.barred else frozenset())
    if visit.promise is None:
        return asks
    return asks | {in_person(visit.promise.tester)}


def welcome(barred: frozenset[tuple[str, date]]) -> str:
    """The phrase of whoever is not barred on those testers' days."""
    days = ", ".join(f"{tester} {on}" for tester, on in sorted(barred))
    return f"welcome, unlike {days}"


def in_person(tester: str) -> str:
    """The phrase of one tester alone."""
    return f"comes in person: {tester}"


def lunch_places(start: Draft) -> dict[DayKey, list[int]]:
    """For each day with a lunch that its hours allow: where it may be eaten, the depot first.

    Those are the places of the day's own visits, and the ones nearest to where it is eaten now.
    """
    found: dict[DayKey, list[int]] = {}
    every = sorted({visit.place for visit in start.problem.visits if visit.place is not None})
    travel = start.problem.travel
    for day in start.problem.days:
        if not _has_lunch(day):
            continue
        order = start.orders.get(day.key, [])
        schedule = scheduled(order, day=day, travel=travel)
        here = day.depot if schedule is None else lunch_place(schedule, day)
        near = sorted(every, key=lambda place: (travel.between(here, place), place))[:NEAREST]
        own = [visit.place for visit in order if visit.place is not None]
        found[day.key] = list(dict.fromkeys([day.depot, *own, *near]))
    return found


def _has_lunch(day: WorkingDay) -> bool:
    if day.lunch is None or not day.lunch.minutes:
        return False
    window = day.lunch.window
    room = min(window.closes, day.ends) - max(window.opens, day.starts)
    longest = day.longest_minutes or day.ends - day.starts
    return min(room, longest) >= day.lunch.minutes


def lunch_place(schedule: Schedule, day: WorkingDay) -> int:
    """Where the lunch of a schedule is eaten: at the stop before it, or at the depot."""
    before = schedule.stops_before_lunch
    return schedule.stops[before - 1].place if before else day.depot
