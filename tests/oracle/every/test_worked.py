"""The oracle for every kind of rule is held against the stories worked by hand."""

from __future__ import annotations

import pytest

from tests.oracle.every.ladder import leavings, rungs_of
from tests.oracle.every.life import answer, lived
from tests.oracle.every.turns import quiet_days
from tests.oracle.every.worked import CASES, LETTERS
from tests.oracle.every.worked.ladders import Letters
from tests.oracle.every.worked.shape import Case, lines


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_oracle_agrees_with_the_hand(case: Case) -> None:
    found = answer(case.story)
    assert (found["standing"], lines(found)) == (case.standing, sorted(case.rows)), case.words


@pytest.mark.parametrize("told", LETTERS, ids=lambda told: told.name)
def test_the_oracle_lets_leave_what_the_hand_says(told: Letters) -> None:
    life = lived(told.case.story, "test")
    found = leavings(
        row=life["open"],
        rungs=rungs_of(life["book"], "test", life["thing"]),
        quiet=quiet_days(life),
        holidays=life["holidays"],
        runs=told.runs,
    )
    assert found == told.expected, told.words


def test_every_story_has_a_name_of_its_own() -> None:
    names = [case.name for case in CASES]
    assert len(names) == len(set(names)) > 40
