"""The day-by-day oracle itself is held against the histories worked by hand."""

from __future__ import annotations

import pytest

from tests.oracle.dayloop import answer
from tests.oracle.mailing import leavings
from tests.oracle.worked import WORKED
from tests.oracle.worked.letters import MAILED, Mailed
from tests.oracle.worked.shape import Worked


@pytest.mark.parametrize("case", WORKED, ids=lambda case: case.name)
def test_the_oracle_agrees_with_the_hand(case: Worked) -> None:
    found = answer(
        rulebook=case.rulebook,
        kind=case.kind,
        hazard=case.hazard,
        facts=case.fact_list,
        as_of=case.day,
    )
    assert found == case.expected, case.words


def test_every_history_has_a_name_of_its_own() -> None:
    names = [case.name for case in WORKED]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("case", MAILED, ids=lambda case: case.name)
def test_the_oracle_mails_what_the_hand_says(case: Mailed) -> None:
    found = leavings(
        rulebook=case.history.rulebook,
        kind=case.history.kind,
        hazard=case.history.hazard,
        facts=case.history.fact_list,
        runs=case.run_days,
    )
    assert found == case.expected, case.words
