"""A plain plan of our own: each visit, most urgent first, where it costs least driving.

It is never infeasible, only incomplete; it starts the solver, stands in for it and fills
what the solver left open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise

from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Round, Stop
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.unplanned import (
    LONGEST_DAY,
    MOST_VISITS,
    NO_ROOM,
    why_left_out,
)
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay

Orders = dict[tuple[str, date], list[Visit]]
"""The visits of each tester's day, in order of driving."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a visit can be put: on which day, before which position, at how many minutes."""

    day: WorkingDay
    position: int
    extra_minutes: int


@dataclass
class Draft:
    """Orders under construction; every change keeps them drivable."""

    problem: Problem
    orders: Orders = field(default_factory=dict)

    def best_place(self, visit: Visit) -> Place | None:
        """The drivable place that adds the least driving; the earlier day where equal."""
        best: Place | None = None
        for day in self.problem.days:
            if self._may(visit, day):
                best = self._better(visit, day=day, best=best)
        return best

    def place_on(
        self, visit: Visit, day: WorkingDay, *, among: Sequence[int] | None = None
    ) -> Place | None:
        """The drivable place on that day that adds the least driving; None where there is none.

        With ``among`` no other positions are tried.
        """
        if not self._may(visit, day):
            return None
        return self._better(visit, day=day, best=None, among=among)

    def put(self, visit: Visit) -> bool:
        """Insert the visit at its best place; False when it fits nowhere.

        Where it stands already counts as the best, when it fits there.
        """
        stands = None if visit.stay is None else self.problem.day_by_key.get(visit.stay.key)
        place = None if stands is None else self.place_on(visit, stands)
        place = place or self.best_place(visit)
        if place is None:
            return False
        self.orders.setdefault(place.day.key, []).insert(place.position, visit)
        return True

    def planned(self) -> frozenset[str]:
        """Keys of the visits in some order."""
        return frozenset(visit.key for order in self.orders.values() for visit in order)

    def stops(self, day: WorkingDay) -> tuple[Stop, ...]:
        """The timed stops of that day; empty without any.

        Raises ValueError when its order cannot be driven.
        """
        order = self.orders.get(day.key, [])
        stops = timed(order, day=day, travel=self.problem.travel)
        if stops is None:
            raise ValueError(f"the order of {day.tester} on {day.day} cannot be driven")
        return stops

    def _may(self, visit: Visit, day: WorkingDay) -> bool:
        promise = visit.promise
        if promise is not None and not day.starts <= promise.arrive <= day.ends:
            return False
        order = self.orders.get(day.key, [])
        held = sum(one.counts for one in order)
        is_full = visit.counts and day.most_visits is not None and held >= day.most_visits
        is_full = is_full or not day.has_room(visit, beside=order)
        is_for_one = visit.people < 2 or promise is not None
        return visit.place is not None and is_for_one and not is_full and day.may_take(visit)

    def _better(
        self,
        visit: Visit,
        *,
        day: WorkingDay,
        best: Place | None,
        among: Sequence[int] | None = None,
    ) -> Place | None:
        order = self.orders.get(day.key, [])
        extras = sorted(
            (self._extra(visit, day=day, order=order, position=position), position)
            for position in (range(len(order) + 1) if among is None else among)
        )
        spare = self._spare(day, order=order) - visit.service_minutes
        for extra, position in extras:
            if extra > spare or (best is not None and extra >= best.extra_minutes):
                return best
            longer = [*order[:position], visit, *order[position:]]
            if timed(longer, day=day, travel=self.problem.travel) is not None:
                return Place(day=day, position=position, extra_minutes=extra)
        return best

    def _spare(self, day: WorkingDay, *, order: Sequence[Visit]) -> int:
        """Minutes of the day without work, driving or lunch: what an insertion can use at most."""
        stops = [visit.place for visit in order if visit.place is not None]
        driven = sum(
            self.problem.travel.between(here, there)
            for here, there in pairwise([day.depot, *stops, day.depot])
        )
        lunch = 0 if day.lunch is None else day.lunch.minutes
        worked = sum(visit.service_minutes for visit in order)
        return day.ends - day.starts - driven - worked - lunch

    def _extra(
        self, visit: Visit, *, day: WorkingDay, order: Sequence[Visit], position: int
    ) -> int:
        between = self.problem.travel.between
        before = order[position - 1].place if position else day.depot
        after = order[position].place if position < len(order) else day.depot
        assert visit.place is not None
        assert before is not None
        assert after is not None
        detour = between(before, visit.place) + between(visit.place, after)
        return detour - (between(before, after) if order else 0)


def draft_of(problem: Problem, *, required_only: bool) -> Draft:
    """Promised and required visits first, then (unless only those) the rest by priority."""
    draft = Draft(problem=problem)
    for visit in by_urgency(problem.visits):
        if visit.must_be_planned or not required_only:
            draft.put(visit)
    return draft


def by_urgency(visits: Sequence[Visit]) -> list[Visit]:
    """Promised by their time, then required, then by points; keys settle what is equal."""
    return sorted(
        visits,
        key=lambda visit: (
            visit.promise is None,
            visit.promise.arrive if visit.promise else 0,
            not visit.required,
            -visit.priority,
            visit.key,
        ),
    )


def filled(draft: Draft) -> Draft:
    """Put in every visit that still fits, most urgent first."""
    planned = draft.planned()
    for visit in by_urgency(draft.problem.visits):
        if visit.key not in planned:
            draft.put(visit)
    return draft


def plan_of(draft: Draft, *, how: str) -> Plan:
    """The draft as a plan with times, and a reason for each visit that is in no round.

    Raises ValueError when an order of the draft cannot be driven.
    """
    problem = draft.problem
    rounds = tuple(
        Round(tester=day.tester, day=day.day, depot=day.depot, stops=stops)
        for day in problem.days
        if (stops := draft.stops(day))
    )
    planned = draft.planned()
    left: tuple[LeftOut, ...] = tuple(
        why_not_in(draft, visit) for visit in problem.visits if visit.key not in planned
    )
    return Plan(rounds=rounds, left_out=left, how=how)


def why_not_in(draft: Draft, visit: Visit) -> LeftOut:
    """Why a visit is not in the draft; with hours left, the limit of a day that keeps it out."""
    left = why_left_out(visit, problem=draft.problem)
    if left.cause is not Cause.NOT_ENOUGH_HOURS:
        return left
    able = [day for day in draft.problem.days if day.may_take(visit)]
    more = [replace(day, most_visits=None) for day in able if day.most_visits is not None]
    longer = [replace(day, longest_minutes=None) for day in able if day.longest_minutes is not None]
    roomier = [replace(day, places=None) for day in able if day.places is not None and visit.space]
    if any(draft.place_on(visit, day) for day in more):
        return LeftOut(visit.key, Cause.MOST_VISITS, MOST_VISITS)
    if any(draft.place_on(visit, day) for day in roomier):
        return LeftOut(visit.key, Cause.NO_ROOM, NO_ROOM)
    if any(draft.place_on(visit, day) for day in longer):
        return LeftOut(visit.key, Cause.LONGEST_DAY, LONGEST_DAY)
    return left
