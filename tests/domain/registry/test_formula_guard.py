"""What a spreadsheet would run as a formula leaves safe and comes back as it was."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.domain.formula_guard import guarded, unguarded

# the characters that OWASP's page on CSV injection lists
STARTS = ["=", "+", "-", "@", "\t", "\r"]


@pytest.mark.parametrize("start", STARTS)
def test_nothing_that_starts_a_formula_leaves_bare(start: str) -> None:
    assert guarded(f"{start}1+1") == f"'{start}1+1"
    assert unguarded(guarded(f"{start}1+1")) == f"{start}1+1"


@given(st.text(alphabet=[*STARTS, "'", "1", "a", "\n", " "], max_size=8))
def test_every_text_comes_back_as_it_was_and_never_starts_a_formula(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(tuple(STARTS))


@pytest.mark.parametrize("text", ["O'Dwyer", "'Hoofdstraat 5", "plain", "", '3/4"', "'"])
def test_a_harmless_text_is_left_alone(text: str) -> None:
    assert guarded(text) == text
    assert unguarded(text) == text


def test_a_text_that_looks_guarded_already_gets_one_more_apostrophe() -> None:
    assert guarded("'=1+1") == "''=1+1"
    assert unguarded("''=1+1") == "'=1+1"
