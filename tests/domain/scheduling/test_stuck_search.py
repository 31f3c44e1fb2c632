"""A search that came no further begins anew: counted as the engine's own criterion counts."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest
from pyvrp.stop import NoImprovement

from scheduling.domain.rounds.staying import costs
from scheduling.search_watch import IDLE_ITERATIONS, IDLE_ITERATIONS_PER_VISIT, Effort, Idle
from scheduling.solver import _Search, solve
from tests.domain.scheduling.rounds.towns import town


@pytest.mark.parametrize("seed", range(5))
def test_it_stops_where_the_engine_s_own_criterion_stops(seed: int) -> None:
    draw, visits = random.Random(seed), 10
    ours, theirs = Idle(visits=visits), NoImprovement(IDLE_ITERATIONS + 10 * visits * 2)
    assert IDLE_ITERATIONS_PER_VISIT == 20
    cost, stops = 10_000, (False, False)
    for asked in range(20_000):
        cost -= draw.random() < 0.9 * 0.99**asked
        stops = (ours(cost), theirs(cost))
        assert stops[0] is stops[1]
        if stops[0]:
            break
    assert stops == (True, True)


@pytest.mark.parametrize(("better_at", "is_stuck"), [(10, True), (49, True), (51, False)])
def test_it_is_stuck_when_the_best_came_in_the_first_half(better_at: int, is_stuck: bool) -> None:
    idle = Idle(visits=100)
    for asked in range(1, 101):
        idle(5 if asked < better_at else 4)
    assert idle.is_stuck is is_stuck


def test_nothing_is_stuck_that_was_never_asked() -> None:
    assert not Idle(visits=1).is_stuck


@pytest.mark.parametrize(
    ("effort", "seeds"),
    [(Effort(seconds=4, seed=3), [3, 4, 3]), (Effort(iterations=40, seed=3), [3, 3, 3])],
    ids=["seconds", "iterations"],
)
def test_a_stuck_search_of_seconds_begins_anew_and_keeps_the_best(
    monkeypatch: pytest.MonkeyPatch, effort: Effort, seeds: list[int]
) -> None:
    """Eight visits are solved in the first moments; what is found never gets worse."""
    whole = town(1, visits=8, testers=1, days=2)
    problem = replace(whole, days=tuple(replace(one, lunch=None) for one in whole.days))
    looked: list[tuple[int, Any]] = []
    look = _Search._look

    def seen(search: _Search, model: Any, effort: Effort, **told: Any) -> Any:
        draft = look(search, model, effort, **told)
        looked.append((effort.seed, costs(draft)))
        return draft

    monkeypatch.setattr(_Search, "_look", seen)
    found = solve(problem, effort=effort)
    assert found.is_feasible
    assert [seed for seed, _ in looked] == seeds
    worth = [cost for _, cost in looked]
    assert worth == sorted(worth, reverse=True)
