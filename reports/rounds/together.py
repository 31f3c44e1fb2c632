"""Visits of two people put on days by hand: both go to one day, and begin at one time.

What that breaks is told by the checker, like for any other visit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from reports.rounds.as_planned import AsPlanned
from scheduling.domain.rounds.by_hand import wanted_times
from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.pairs import together
from scheduling.domain.rounds.slots import Slot
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay, second_key

DayKey = tuple[str, date]


@dataclass(frozen=True)
class Put:
    """The days with a visit put on them, and which of them it changed, the first person's first."""

    planned: AsPlanned
    days: tuple[DayKey, ...]


def put_slot(planned: AsPlanned, visit: Visit, slot: Slot) -> Put:
    """The days with a visit of two people in the slot that was offered."""
    assert slot.second is not None
    both = together(visit, slot.day.tester, slot.second.day.tester, arrive=slot.arrive)
    for one, where in zip(both, (slot, slot.second), strict=True):
        planned.draft.orders.setdefault(where.day.key, []).insert(where.position, one)
    return Put(_fixed(planned, both), (slot.day.key, slot.second.day.key))


def move_both(planned: AsPlanned, visit: Visit, *, target: DayKey, place: int) -> Put | None:
    """The days with both people before the ``place``-th stop (from 1) of the target day.

    The second stays who it was where that one works on the date and can be there in time, else is
    whoever adds least driving. None where nobody else of that company works then.
    """
    orders = planned.draft.orders
    keys = (visit.key, second_key(visit.key))
    was = {one.key: day for day, order in orders.items() for one in order if one.key in keys}
    for day in was.values():
        orders[day] = [one for one in orders[day] if one.key not in keys]
    arrive = _arrival(planned, visit, target=target, place=place)
    before = was.get(keys[1], ("", target[1]))[0]
    beside = _beside(planned.draft, visit, target=target, arrive=arrive, before=before)
    if beside is None:
        return None
    both = together(visit, target[0], beside.tester, arrive=arrive)
    order = orders.setdefault(target, [])
    order.insert(max(0, min(place - 1, len(order))), both[0])
    _in_time(planned, both[1], day=beside, arrive=arrive)
    days = (target, beside.key, *(was[key] for key in keys if key in was))
    is_told = planned.stops[visit.key].is_fixed
    return Put(planned if is_told else _fixed(planned, both), tuple(dict.fromkeys(days)))


def _arrival(planned: AsPlanned, visit: Visit, *, target: DayKey, place: int) -> int:
    """When the first person is there, whenever the other could be."""
    problem = planned.week.problem
    order = planned.draft.orders.get(target, [])
    at = max(0, min(place - 1, len(order)))
    wanted = [*order[:at], replace(visit, promise=None), *order[at:]]
    stops, _keeps = wanted_times(wanted, day=problem.day_by_key[target], travel=problem.travel)
    return stops[at].arrive


def _beside(
    draft: Draft, visit: Visit, *, target: DayKey, arrive: int, before: str
) -> WorkingDay | None:
    """Who stands by: one who can be there, the one of before, one who brings what is asked for."""
    team = draft.problem.day_by_key[target].team

    def rank(day: WorkingDay) -> tuple[bool, bool, bool, int, str]:
        _first, second = together(visit, target[0], day.tester, arrive=arrive)
        place = draft.place_on(second, day)
        extra = 0 if place is None else place.extra_minutes
        is_able = day.has(visit.skills)
        return (place is None, day.tester != before, not is_able, extra, day.tester)

    others = [
        day
        for day in draft.problem.days
        if day.day == target[1] and day.tester != target[0] and day.team == team
    ]
    return min(others, key=rank, default=None)


def _in_time(planned: AsPlanned, visit: Visit, *, day: WorkingDay, arrive: int) -> None:
    """Put a fixed visit into a day's order by its time."""
    order = planned.draft.orders.setdefault(day.key, [])
    stops, _keeps = wanted_times(order, day=day, travel=planned.week.problem.travel)
    order.insert(sum(stop.arrive < arrive for stop in stops), visit)


def _fixed(planned: AsPlanned, both: Sequence[Visit]) -> AsPlanned:
    """The days on which both people's time is what was put, so that the checker asks for it."""
    first, second = both
    first = replace(first, second_promise=second.promise)
    problem = planned.week.problem
    rest = [one for one in problem.visits if one.key not in {first.key, second.key}]
    problem = Problem((*rest, first, second), problem.days, problem.travel)
    draft = Draft(problem=problem, orders=planned.draft.orders)
    return replace(planned, week=replace(planned.week, problem=problem), draft=draft)
