"""The same week by a second engine, OR-tools, with its own breaks: only for the comparison.

It is no part of what is installed: `pip install ortools` into `.venv` to compare. Its answer is
looked at by our checker like any other.
"""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import Any

from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Round, Stop
from scheduling.domain.rounds.visits import Problem, Visit

POINTS_FIRST = 1_000
"""One point left out weighs as much as a thousand minutes of driving: points decide, as for us."""


def is_here() -> bool:
    """Whether OR-tools is installed."""
    return find_spec("ortools") is not None


def planned(problem: Problem, *, seconds: float) -> Plan | None:
    """Its best plan after so many seconds; None where it found none."""
    model = _Model(problem)
    return model.solved(seconds=seconds)


class _Model:
    """One vehicle for each tester's day, one node for each visit and two for each depot."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.visits = [one for one in problem.visits if one.place is not None]
        self.places = [one.place or 0 for one in self.visits]
        self.places += [day.depot for day in problem.days]
        self.cp: Any = import_module("ortools.constraint_solver.pywrapcp")
        self.enums: Any = import_module("ortools.constraint_solver.routing_enums_pb2")
        ends = [len(self.visits) + j for j in range(len(problem.days))]
        self.manager = self.cp.RoutingIndexManager(len(self.places), len(problem.days), ends, ends)
        self.routing = self.cp.RoutingModel(self.manager)
        self.time = self._with_time()
        for i, visit in enumerate(self.visits):
            self._with_visit(i, visit)
        self._with_lunch()

    def _minutes(self, a: int, b: int) -> int:
        return int(self.problem.travel.between(self.places[a], self.places[b]))

    def _service(self, node: int) -> int:
        return self.visits[node].service_minutes if node < len(self.visits) else 0

    def _with_time(self) -> Any:
        def drive(one: int, other: int) -> int:
            return self._minutes(self.manager.IndexToNode(one), self.manager.IndexToNode(other))

        def time(one: int, other: int) -> int:
            return drive(one, other) + self._service(self.manager.IndexToNode(one))

        self.routing.SetArcCostEvaluatorOfAllVehicles(self.routing.RegisterTransitCallback(drive))
        latest = max(day.ends for day in self.problem.days)
        self.routing.AddDimension(
            self.routing.RegisterTransitCallback(time), latest, latest, False, "time"
        )
        found = self.routing.GetDimensionOrDie("time")
        for j, day in enumerate(self.problem.days):
            found.CumulVar(self.routing.Start(j)).SetRange(day.starts, day.ends)
            found.CumulVar(self.routing.End(j)).SetRange(day.starts, day.ends)
        return found

    def _with_visit(self, i: int, visit: Visit) -> None:
        index = self.manager.NodeToIndex(i)
        able = [j for j, day in enumerate(self.problem.days) if day.may_take(visit)]
        self.routing.VehicleVar(index).SetValues([-1, *able])
        if not visit.must_be_planned:
            self.routing.AddDisjunction([index], visit.priority * POINTS_FIRST)
        begins = self.time.CumulVar(index)
        if visit.promise is not None:
            begins.SetRange(visit.promise.arrive, visit.promise.arrive)
            return
        last = -1
        for window in visit.open_windows():
            begins.RemoveInterval(last + 1, window.opens - 1)
            last = max(last, window.closes - visit.service_minutes)
        begins.SetMax(min(last, begins.Max()))

    def _with_lunch(self) -> None:
        transits = [self._service(self.manager.IndexToNode(i)) for i in range(self.routing.Size())]
        solver = self.routing.solver()
        for j, day in enumerate(self.problem.days):
            if day.lunch is None:
                continue
            window = day.lunch.window
            rest = solver.FixedDurationIntervalVar(
                window.opens, window.closes - day.lunch.minutes, day.lunch.minutes, False, f"{j}"
            )
            self.time.SetBreakIntervalsOfVehicle([rest], j, transits)

    def solved(self, *, seconds: float) -> Plan | None:
        parameters = self.cp.DefaultRoutingSearchParameters()
        parameters.first_solution_strategy = (
            self.enums.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
        )
        parameters.local_search_metaheuristic = (
            self.enums.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        )
        parameters.time_limit.FromMilliseconds(int(seconds * 1000))
        found = self.routing.SolveWithParameters(parameters)
        return None if found is None else self._plan(found)

    def _plan(self, found: Any) -> Plan:
        rounds = []
        for j, day in enumerate(self.problem.days):
            stops = []
            index = found.Value(self.routing.NextVar(self.routing.Start(j)))
            while not self.routing.IsEnd(index):
                visit = self.visits[self.manager.IndexToNode(index)]
                arrive = found.Min(self.time.CumulVar(index))
                assert visit.place is not None
                leave = arrive + visit.service_minutes
                stops.append(Stop(visit.key, visit.place, arrive, leave))
                index = found.Value(self.routing.NextVar(index))
            if stops:
                rounds.append(Round(day.tester, day.day, day.depot, tuple(stops)))
        here = {stop.visit for one in rounds for stop in one.stops}
        left = tuple(
            LeftOut(one.key, Cause.NOT_ENOUGH_HOURS, "left out")
            for one in self.problem.visits
            if one.key not in here
        )
        return Plan(tuple(rounds), left, "OR-tools")
