"""The oracle for every kind of rule is held against the stories worked by hand."""

from __future__ import annotations

import pytest

from tests.oracle.every.life import answer
from tests.oracle.every.worked import CASES
from tests.oracle.every.worked.shape import Case, lines


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_oracle_agrees_with_the_hand(case: Case) -> None:
    found = answer(case.story)
    assert (found["standing"], lines(found)) == (case.standing, sorted(case.rows)), case.words


def test_every_story_has_a_name_of_its_own() -> None:
    names = [case.name for case in CASES]
    assert len(names) == len(set(names)) > 40
