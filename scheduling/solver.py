"""The routing engine behind one door: plain values in, a checked plan out.

An answer that the engine calls feasible is timed anew by us and passes our own checker, else
our plain insertion plan stands in and says so. Only this and ``routing_model`` know pyvrp.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Self

import pyvrp
from pyvrp import IteratedLocalSearchParams, SolveParams
from pyvrp.IteratedLocalSearch import IteratedLocalSearchCallbacks
from pyvrp.stop import MaxIterations, MaxRuntime, MultipleCriteria, NoImprovement

from scheduling.domain.rounds.checking import Violation, violations
from scheduling.domain.rounds.insertion import Draft, draft_of, filled, plan_of
from scheduling.domain.rounds.pairs import whole_pairs, with_pairs
from scheduling.domain.rounds.plans import LeftOut, Plan, Round, drive_minutes
from scheduling.domain.rounds.visits import Problem, is_second
from scheduling.routing_model import RoutingModel

BY_SOLVER = "solver"
BY_INSERTION = "insertion"

ACCEPT_BACK_TO = 10
RESTART_AFTER = 200
"""Late acceptance looks so many iterations back, and returns to the best plan after so many in
vain. Short on purpose: on three seeded weeks of 300 visits, 1,000 iterations from a plain plan
left out 1,280 points on average with these, 1,430 with 30 and no return, 2,000 with 100."""

IDLE_ITERATIONS = 2_000
IDLE_ITERATIONS_PER_VISIT = 20
"""Without a better plan for so many in all, a run with a cap on seconds stops early."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look: exactly ``iterations`` (repeats exactly with the seed) or ``seconds``.

    ``seconds`` only caps. With both, whichever is over first.
    """

    iterations: int | None = None
    seconds: float | None = None
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Progress:
    """How the search stands, with the visits and drive of the best plan so far."""

    seconds: float
    iterations: int
    planned: int
    drive_minutes: int


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan, what our checker found wrong with it, and words worth telling the dispatcher."""

    plan: Plan
    violations: tuple[Violation, ...]
    notes: tuple[str, ...]

    @property
    def is_feasible(self) -> bool:
        """True for a plan that may be shown as good."""
        return not self.violations


def solve(
    problem: Problem,
    *,
    effort: Effort,
    progress: Callable[[Progress], None] | None = None,
    is_enough: Callable[[], bool] | None = None,
) -> Solved:
    """The best checked plan found. Raises ValueError when the effort has no end.

    ``is_enough`` is asked about once a second; where it says so the search stops, and the best
    plan so far is the answer.
    """
    if effort.iterations is None and effort.seconds is None:
        raise ValueError("say how many iterations or seconds to look")
    asked = _Asked.of(problem)
    search = _Search(effort, progress=progress, is_enough=is_enough)
    draft = search.best(asked.fixed)
    if draft is None:
        return asked.checked(draft_of(asked.fixed, required_only=False), how=BY_INSERTION)
    if search.found_nothing:
        return asked.instead(why="the routing engine found no feasible plan")
    solved = asked.checked(draft, how=BY_SOLVER)
    if solved.is_feasible:
        return solved
    plain = asked.instead(why=f"the routing engine broke a rule: {solved.violations[0].words}")
    return plain if len(plain.violations) < len(solved.violations) else solved


@dataclass(frozen=True)
class _Asked:
    """The problem as asked, and with the visits that take two people fixed; the rest left out."""

    problem: Problem
    fixed: Problem
    left: tuple[LeftOut, ...]

    @classmethod
    def of(cls, problem: Problem) -> Self:
        """What the search is given; the checker looks at the problem as it was asked."""
        fixed, left = with_pairs(problem)
        return cls(problem, fixed, left)

    def instead(self, *, why: str) -> Solved:
        """A plain plan, with the reason told."""
        note = f"{why}; the plan was made by plain insertion instead"
        draft = draft_of(self.fixed, required_only=False)
        return replace(self.checked(draft, how=BY_INSERTION), notes=(note,))

    def checked(self, draft: Draft, *, how: str) -> Solved:
        """The draft as a plan, looked at by our checker."""
        plan = plan_of(whole_pairs(draft), how=how)
        left = {one.visit: one for one in (*plan.left_out, *self.left) if not is_second(one.visit)}
        order = {visit.key: index for index, visit in enumerate(self.problem.visits)}
        told = tuple(sorted(left.values(), key=lambda one: order[one.visit]))
        plan = replace(plan, left_out=told)
        return Solved(plan, violations(plan, problem=self.problem), notes=())


class _Search:
    """The engine's search: in one go, or where there are lunches in three.

    The first half looks without lunches, and each day is mended for its lunch afterwards. Then the
    engine is told of them, twice for a quarter: it needs to know where they may be eaten, and the
    days found before say so. The best of all three is taken. On three seeded weeks of 300 visits
    and 2,000 iterations this left out 3,880 points on average; looking on without lunches, and
    keeping the best, 4,250.
    """

    def __init__(
        self,
        effort: Effort,
        *,
        progress: Callable[[Progress], None] | None,
        is_enough: Callable[[], bool] | None,
    ) -> None:
        self._effort = effort
        self._told = None if progress is None else _Telling(progress)
        self._is_enough = is_enough
        self.found_nothing = False

    def best(self, problem: Problem) -> Draft | None:
        """The best order found; None where there is nothing for the engine to do."""
        model = RoutingModel(problem)
        if not model.has_visits or not problem.days:
            return None
        if all(day.lunch is None for day in problem.days):
            return self._look(model, self._effort)
        half, quarter, rest = _shares(self._effort)
        draft = self._look(model, half)
        for effort in (quarter, rest):
            if self.found_nothing:
                break
            model = RoutingModel(problem, start=draft, with_lunches=True)
            draft = min(draft, self._look(model, effort, told=draft), key=_costs)
        return draft

    def _look(self, model: RoutingModel, effort: Effort, *, told: Draft | None = None) -> Draft:
        if self._told is not None:
            self._told.lunches = model.lunches
        result = pyvrp.solve(
            model.data,
            stop=_stop(effort, visits=len(model.problem.visits), is_enough=self._is_enough),
            seed=effort.seed,
            collect_stats=False,
            display=False,
            params=SolveParams(ils=_search_params(self._told)),
            initial_solution=model.start(),
        )
        if result.is_feasible():
            return filled(model.draft_from(result.best))
        self.found_nothing = told is None
        return told or Draft(model.problem)


def _costs(draft: Draft) -> tuple[int, int]:
    """Points left out, then minutes driven."""
    planned, travel = draft.planned(), draft.problem.travel
    lost = sum(one.priority for one in draft.problem.visits if one.key not in planned)
    stops = [(day, draft.stops(day)) for day in draft.problem.days]
    rounds = [Round(day.tester, day.day, day.depot, found) for day, found in stops]
    return lost, sum(drive_minutes(one, travel=travel) for one in rounds)


def _shares(effort: Effort) -> tuple[Effort, Effort, Effort]:
    """The effort as a half and two quarters: every iteration and second is spent once."""
    count, seconds = effort.iterations, effort.seconds
    if count is None:
        half, quarter = replace(effort, seconds=(seconds or 0) / 2), (seconds or 0) / 4
        return half, replace(effort, seconds=quarter), replace(effort, seconds=quarter)
    parts = (count - count // 2, count // 4, count // 2 - count // 4)
    caps = (None,) * 3 if seconds is None else (seconds / 2, seconds / 4, seconds / 4)
    first, second, third = (
        replace(effort, iterations=part, seconds=cap) for part, cap in zip(parts, caps, strict=True)
    )
    return first, second, third


def _search_params(telling: _Telling | None) -> IteratedLocalSearchParams:
    params = IteratedLocalSearchParams(
        history_length=ACCEPT_BACK_TO, num_iters_no_improvement=RESTART_AFTER
    )
    return params if telling is None else replace(params, callbacks=telling)


class _Telling(IteratedLocalSearchCallbacks):
    """Tells once a second how the search stands."""

    def __init__(self, tell: Callable[[Progress], None]) -> None:
        self._tell = tell
        self._began = time.perf_counter()
        self._told = 0.0
        self.lunches = 0
        self._iterations = 0

    def on_iteration(
        self,
        current: pyvrp.Solution,
        candidate: pyvrp.Solution,
        best: pyvrp.Solution,
        cost_evaluator: pyvrp.CostEvaluator,
    ) -> None:
        """Called by the engine after each iteration."""
        self._iterations += 1
        elapsed = time.perf_counter() - self._began
        if elapsed - self._told >= 1:
            self._told = elapsed
            self._tell(
                Progress(
                    elapsed, self._iterations, best.num_clients() - self.lunches, best.distance()
                )
            )


class _Enough:
    """A stopping criterion that a person decides."""

    def __init__(self, is_enough: Callable[[], bool]) -> None:
        self._is_enough = is_enough
        self._asked = time.perf_counter()

    def __call__(self, best_cost: int) -> bool:
        """Called by the engine before each iteration."""
        now = time.perf_counter()
        if now - self._asked < 1:
            return False
        self._asked = now
        return self._is_enough()


def _stop(effort: Effort, *, visits: int, is_enough: Callable[[], bool] | None) -> MultipleCriteria:
    criteria: list[pyvrp.stop.StoppingCriterion] = []
    if is_enough is not None:
        criteria.append(_Enough(is_enough))
    if effort.iterations is not None:
        criteria.append(MaxIterations(effort.iterations))
    if effort.seconds is not None:
        criteria.append(MaxRuntime(effort.seconds))
    if effort.iterations is None:
        criteria.append(NoImprovement(IDLE_ITERATIONS + IDLE_ITERATIONS_PER_VISIT * visits))
    return MultipleCriteria(criteria)
