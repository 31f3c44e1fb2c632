"""The routing engine behind one door: plain values in, a checked plan out.

An answer that the engine calls feasible is timed anew by us and passes our own checker, else
our plain insertion plan stands in and says so. Only this and ``routing_model`` know pyvrp.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import pyvrp
from pyvrp import IteratedLocalSearchParams, SolveParams
from pyvrp.IteratedLocalSearch import IteratedLocalSearchCallbacks
from pyvrp.stop import MaxIterations, MaxRuntime, MultipleCriteria, NoImprovement

from scheduling.domain.rounds.checking import Violation, violations
from scheduling.domain.rounds.insertion import Draft, draft_of, filled, plan_of
from scheduling.domain.rounds.plans import Plan
from scheduling.domain.rounds.visits import Problem
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
    model = RoutingModel(problem)
    if not model.clients or not problem.days:
        return _checked(draft_of(problem, required_only=False), how=BY_INSERTION, notes=())
    result = pyvrp.solve(
        model.data,
        stop=_stop(effort, visits=len(problem.visits), is_enough=is_enough),
        seed=effort.seed,
        collect_stats=False,
        display=False,
        params=SolveParams(ils=_search_params(progress)),
        initial_solution=model.start(),
    )
    if not result.is_feasible():
        return _instead(problem, why="the routing engine found no feasible plan")
    solved = _checked(filled(model.draft_from(result.best)), how=BY_SOLVER, notes=())
    if solved.is_feasible:
        return solved
    plain = _instead(problem, why=f"the routing engine broke a rule: {solved.violations[0].words}")
    return plain if len(plain.violations) < len(solved.violations) else solved


def _instead(problem: Problem, *, why: str) -> Solved:
    note = f"{why}; the plan was made by plain insertion instead"
    return _checked(draft_of(problem, required_only=False), how=BY_INSERTION, notes=(note,))


def _checked(draft: Draft, *, how: str, notes: tuple[str, ...]) -> Solved:
    plan = plan_of(draft, how=how)
    return Solved(plan=plan, violations=violations(plan, problem=draft.problem), notes=notes)


def _search_params(progress: Callable[[Progress], None] | None) -> IteratedLocalSearchParams:
    params = IteratedLocalSearchParams(
        history_length=ACCEPT_BACK_TO, num_iters_no_improvement=RESTART_AFTER
    )
    return params if progress is None else replace(params, callbacks=_Telling(progress))


class _Telling(IteratedLocalSearchCallbacks):
    """Tells once a second how the search stands."""

    def __init__(self, tell: Callable[[Progress], None]) -> None:
        self._tell = tell
        self._began = time.perf_counter()
        self._told = 0.0
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
            self._tell(Progress(elapsed, self._iterations, best.num_clients(), best.distance()))


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
