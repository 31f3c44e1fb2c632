"""The real replay against the histories worked by hand and against the day-by-day oracle.

No case is left out of the comparison: where the two differ, one of them misreads a rule.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import timedelta
from random import Random
from typing import Any

import pytest

from tests.domain.replayed import ledger_of, real_answer, real_leavings
from tests.oracle.dayloop import answer
from tests.oracle.generator import History, histories
from tests.oracle.mailing import leavings
from tests.oracle.worked import WORKED
from tests.oracle.worked.letters import MAILED, Mailed
from tests.oracle.worked.shape import Worked


def asked(case: Worked) -> dict[str, Any]:
    return {
        "rulebook": case.rulebook,
        "kind": case.kind,
        "hazard": case.hazard,
        "facts": case.fact_list,
    }


@pytest.mark.parametrize("case", WORKED, ids=lambda case: case.name)
def test_replay_finds_what_the_hand_found(case: Worked) -> None:
    assert real_answer(**asked(case), as_of=case.day) == case.expected, case.words


@pytest.mark.parametrize(
    "case", [case for case in WORKED if case.warned], ids=lambda case: case.name
)
def test_replay_tells_a_person_where_the_rules_say_so(case: Worked) -> None:
    told = [fact for fact in case.fact_list if fact[1] <= case.day]
    ledger = ledger_of(
        book=case.rulebook, kind=case.kind, hazard=case.hazard, facts=told, as_of=case.day
    )
    assert ledger.warnings or len(told) < len(case.fact_list)


@pytest.mark.parametrize("case", MAILED, ids=lambda case: case.name)
def test_letters_leave_on_the_days_the_hand_found(case: Mailed) -> None:
    assert real_leavings(**asked(case.history), runs=case.run_days) == case.expected, case.words


def differences(*, seed: int, count: int) -> list[tuple[History, Any, Any]]:
    found = []
    for history in histories(seed=seed, count=count):
        mine, real = answer(**asdict(history)), real_answer(**asdict(history))
        if mine != real:
            found.append((history, mine, real))
    return found


def test_replay_agrees_with_the_oracle_on_thousands_of_histories() -> None:
    assert differences(seed=20251125, count=3000) == []


@pytest.mark.slow
@pytest.mark.bench
def test_replay_agrees_with_the_oracle_on_very_many_histories() -> None:
    assert differences(seed=31, count=20000) == []


def mailing_differences(*, seed: int, count: int) -> list[tuple[History, Any, Any]]:
    """Letters that leave over some sixty runs with gaps, from the last fact's time on."""
    random = Random(seed)
    found = []
    for history in histories(seed=seed, count=count):
        if not history.facts:
            continue  # opens on the day it was recorded, which a history does not say
        what = asdict(history)
        day = what.pop("as_of") - timedelta(days=random.randrange(200))
        day = max(day, min(on for _, on in history.facts))
        runs = []
        for _ in range(60):
            runs.append(day)
            day += timedelta(days=random.choice((1, 1, 1, 2, 7, 14, 40)))
        mine, real = leavings(**what, runs=runs), real_leavings(**what, runs=runs)
        if mine != real:
            found.append((history, mine, real))
    return found


def test_letters_agree_with_the_oracle_over_runs_with_gaps() -> None:
    assert mailing_differences(seed=7, count=60) == []


@pytest.mark.slow
@pytest.mark.bench
def test_letters_agree_with_the_oracle_over_very_many_runs() -> None:
    assert mailing_differences(seed=8, count=250) == []
