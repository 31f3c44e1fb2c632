"""A week of visits in the routing engine's terms, and its answer back in ours.

Testers' days are its vehicle types, visits its optional clients with prizes, each skill set a
routing profile of its own, all in whole minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pyvrp

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.standing import begun
from scheduling.domain.rounds.timing import drivable_part, scheduled
from scheduling.domain.rounds.visits import Problem, Travel, Visit, WorkingDay
from scheduling.domain.rounds.weights import DRIVE_MINUTE_COST, OUT_MINUTE_COST, PRIZE_PER_POINT
from scheduling.routing_asks import DayKey, asked_of, in_person, lunch_place, lunch_places, welcome
from scheduling.routing_loads import Loads
from scheduling.routing_spans import start_spans
from scheduling.routing_stays import stay_prize, stay_spans, stays_of

Matrix = npt.NDArray[np.int64]

MOST_CELLS = 40_000_000
"""Up to so many cells of travel times in all the engine knows lunches (some 300 MB): each tester
with a lunch needs a table of their own."""


class RoutingModel:
    """The problem in the engine's terms, and the way back.

    A visit with several windows, or one that stands on a day already, becomes several clients of a
    group of which at most one is served. Each visit has a location of its own, also where two
    share a place: profiles forbid by location. A lunch is a group of which one must be served: the
    same pause at several places around that tester's day of ``start``, for that tester alone.
    """

    def __init__(
        self, problem: Problem, *, start: Draft | None = None, with_lunches: bool = False
    ) -> None:
        self.problem = problem
        self._start = start or begun(problem)
        self._lunches = lunch_places(self._start) if with_lunches else {}
        self._depots = sorted({day.depot for day in problem.days})
        # What a person must be able to do, a promise to come in person included.
        self._asks = {visit.key: asked_of(visit) for visit in problem.visits}
        self._barred = {
            welcome(visit.barred): visit.barred for visit in problem.visits if visit.barred
        }
        asked = frozenset[str]().union(*self._asks.values())
        asked |= {in_person(tester) for tester, _on in self._lunches}
        self._stays = stays_of(problem)
        asked |= {in_person(day.tester) for day in self._stays.values()}
        self._brings = [asked & self._brought(day) for day in problem.days]
        self._skill_sets = sorted(set(self._brings), key=sorted)
        self._places: list[int] = list(self._depots)
        self._location_asks: list[frozenset[str]] = [frozenset() for _ in self._depots]
        self.clients: list[pyvrp.Client] = []
        self._visit_of: list[Visit | None] = []
        self._only_on: list[DayKey | None] = []
        self._groups: list[pyvrp.ClientGroup] = []
        self._loads = Loads.of(problem)
        for visit in problem.visits:
            self._add(visit)
        self._lunch_clients: dict[DayKey, dict[int, int]] = {}
        if self._cells() <= MOST_CELLS:
            for day in problem.days:
                if day.key in self._lunches:
                    self._add_lunch(day)

    @property
    def has_visits(self) -> bool:
        """Whether there is anything to serve."""
        return any(visit is not None for visit in self._visit_of)

    @property
    def lunches(self) -> int:
        """How many lunches the engine knows of; without any, each day is mended for it after."""
        return len(self._lunch_clients)

    @cached_property
    def data(self) -> pyvrp.ProblemData:
        """The engine's own description of the problem."""
        travel = travel_matrix(self.problem.travel, places=self._places)
        # Any: the engine's stubs call every integer matrix ndarray[int], which none is.
        distances: Any = [travel] * len(self._skill_sets)
        durations: Any = [self._forbidding(travel, skills) for skills in self._skill_sets]
        return pyvrp.ProblemData(
            locations=[pyvrp.Location(0, 0) for _ in self._places],
            clients=self.clients,
            depots=[pyvrp.Depot(location=index) for index in range(len(self._depots))],
            vehicle_types=[
                self._vehicle(day, brings)
                for day, brings in zip(self.problem.days, self._brings, strict=True)
            ],
            distance_matrices=distances,
            duration_matrices=durations,
            groups=self._groups,
        )

    def start(self) -> pyvrp.Solution | None:
        """A drivable plan to begin from: what stands and fits, in a very large week no more.

        From an infeasible start, or an empty one, the engine may never recover.
        """
        if not self._start.planned():
            return None
        routes = []
        for index, day in enumerate(self.problem.days):
            if clients := self._route(day):
                routes.append(pyvrp.Route(self.data, clients, index))
        return pyvrp.Solution(self.data, routes)

    def _route(self, day: WorkingDay) -> list[int]:
        """The clients of a day of the start, its lunch where the engine knows of it."""
        order = self._start.orders.get(day.key, [])
        schedule = scheduled(order, day=day, travel=self.problem.travel)
        if schedule is None:
            raise ValueError(f"the order of {day.tester} on {day.day} cannot be driven")
        clients = [self._client_at(stop.visit, stop.arrive, day=day.key) for stop in schedule.stops]
        if lunch := self._lunch_clients.get(day.key):
            here = lunch_place(schedule, day)
            clients.insert(schedule.stops_before_lunch, lunch[here])
        return clients

    def draft_from(self, solution: pyvrp.Solution) -> Draft:
        """The engine's orders as a draft of ours, each made drivable if it is not."""
        draft = Draft(problem=self.problem)
        for route in solution.routes():
            day = self.problem.days[route.vehicle_type()]
            steps = [self._visit_of[step.idx] for step in route.schedule() if step.is_client()]
            order = [visit for visit in steps if visit is not None]
            draft.orders[day.key] = drivable_part(order, day=day, travel=self.problem.travel)
        return draft

    def _add(self, visit: Visit) -> None:
        able = [day for day in self.problem.days if day.may_take(visit)]
        spans = start_spans(visit, able=able)
        if visit.place is None or not spans:
            return
        stands = self._stays.get(visit.key)
        own = [] if stands is None else stay_spans(visit, stands)
        # What even an empty plan cannot take stays optional: one visit must not spoil the rest.
        required = visit.must_be_planned and visit.key in self._start.planned()
        group = None
        if len(spans) + len(own) > 1:
            group = len(self._groups)
            first = len(self.clients)
            members = list(range(first, first + len(spans) + len(own)))
            self._groups.append(pyvrp.ClientGroup(members, required=required))
        self._add_spans(visit, spans, required=required, group=group, only_on=None)
        if stands is not None:
            self._add_spans(visit, own, required=required, group=group, only_on=stands.key)

    def _add_spans(
        self,
        visit: Visit,
        spans: Sequence[tuple[int, int]],
        *,
        required: bool,
        group: int | None,
        only_on: DayKey | None,
    ) -> None:
        """A client for each span, all at one location; with ``only_on`` for that tester alone."""
        assert visit.place is not None
        own = frozenset() if only_on is None else frozenset([in_person(only_on[0])])
        self._places.append(visit.place)
        self._location_asks.append(self._asks[visit.key] | own)
        for early, late in spans:
            self._visit_of.append(visit)
            self._only_on.append(only_on)
            self.clients.append(
                pyvrp.Client(
                    location=len(self._places) - 1,
                    delivery=self._loads.taken(visit),
                    service_duration=visit.service_minutes,
                    tw_early=early,
                    tw_late=late,
                    prize=visit.priority * PRIZE_PER_POINT
                    + (0 if only_on is None else stay_prize(visit)),
                    required=required and group is None,
                    group=group,
                )
            )

    def _add_lunch(self, day: WorkingDay) -> None:
        assert day.lunch is not None
        own = frozenset([in_person(day.tester)])
        group, first = len(self._groups), len(self.clients)
        places = self._lunches[day.key]
        for place in places:
            self._places.append(place)
            self._location_asks.append(own)
            self._visit_of.append(None)
            self._only_on.append(None)
            self.clients.append(
                pyvrp.Client(
                    location=len(self._places) - 1,
                    delivery=self._loads.taken(None),
                    service_duration=day.lunch.minutes,
                    tw_early=day.lunch.window.opens,
                    tw_late=day.lunch.window.closes - day.lunch.minutes,
                    required=False,
                    group=group,
                )
            )
        members = list(range(first, first + len(places)))
        self._groups.append(pyvrp.ClientGroup(members, required=True))
        self._lunch_clients[day.key] = dict(zip(places, members, strict=True))

    def _cells(self) -> int:
        places = len(self._places) + sum(len(found) for found in self._lunches.values())
        return len(self._skill_sets) * places**2

    def _brought(self, day: WorkingDay) -> frozenset[str]:
        wanted = {words for words, barred in self._barred.items() if day.key not in barred}
        return day.skills | {in_person(day.tester)} | wanted

    def _vehicle(self, day: WorkingDay, brings: frozenset[str]) -> pyvrp.VehicleType:
        depot = self._depots.index(day.depot)
        return pyvrp.VehicleType(
            start_depot=depot,
            end_depot=depot,
            capacity=self._loads.given(day),
            tw_early=day.starts,
            tw_late=day.ends,
            shift_duration=day.longest_minutes or day.ends - day.starts,
            unit_distance_cost=DRIVE_MINUTE_COST,
            unit_duration_cost=OUT_MINUTE_COST,
            profile=self._skill_sets.index(brings),
        )

    def _forbidding(self, travel: Matrix, skills: frozenset[str]) -> Matrix:
        """Travel times that end any day on the way to what these skills do not allow.

        Not a huge number: with those the engine's penalties never found a way (seen with 10^7).
        """
        closed = [i for i, asks in enumerate(self._location_asks) if not asks <= skills]
        times = travel.copy()
        times[:, closed] += 1 + max(day.ends - day.starts for day in self.problem.days)
        np.fill_diagonal(times, 0)
        return times

    def _client_at(self, key: str, arrive: int, *, day: DayKey) -> int:
        """The client that a stop of the start is: the one for that day alone, where there is."""
        found = [
            index
            for index, (client, visit) in enumerate(zip(self.clients, self._visit_of, strict=True))
            if visit is not None
            and visit.key == key
            and self._only_on[index] in (None, day)
            and client.tw_early <= arrive <= client.tw_late
        ]
        return max(found, key=lambda index: self._only_on[index] is not None)


def travel_matrix(travel: Travel, *, places: Sequence[int]) -> Matrix:
    """Minutes between the listed places (a place may stand there twice), as the engine reads."""
    whole = getattr(travel, "minutes", None)
    if isinstance(whole, np.ndarray):
        table: Matrix = whole[np.ix_(places, places)]
        return table
    return np.array([[travel.between(a, b) for b in places] for a in places], dtype=np.int64)
