"""A person may end the search: the best plan so far is checked and given."""

from __future__ import annotations

import time

from scheduling.solver import Effort, solve
from tests.domain.scheduling.rounds.towns import town


def test_a_search_ends_when_somebody_says_it_is_enough() -> None:
    began = time.perf_counter()
    found = solve(
        town(1, visits=60, testers=2, days=3), effort=Effort(seconds=120), is_enough=lambda: True
    )
    assert found.is_feasible
    assert time.perf_counter() - began < 60  # asked once a second; 120 s were allowed
