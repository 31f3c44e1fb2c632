"""The secret link and the short code."""

from __future__ import annotations

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notices.domain.codes import (
    ALPHABET,
    link_token,
    printed_code,
    read_code,
    short_code,
    token_digest,
)

names = st.text(min_size=1, max_size=40)


def test_a_token_holds_128_bits() -> None:
    token = link_token(key="k", letter="tamarack/1")
    assert len(base64.urlsafe_b64decode(token + "==")) == 16


@given(names, names)
def test_tokens_and_codes_differ_by_key_and_come_out_the_same_again(key: str, letter: str) -> None:
    assert link_token(key=key, letter=letter) == link_token(key=key, letter=letter)
    assert link_token(key=key, letter=letter) != link_token(key=key + "x", letter=letter)
    assert token_digest(link_token(key=key, letter=letter)) != link_token(key=key, letter=letter)


def test_the_alphabet_has_32_letters_and_none_that_is_misread() -> None:
    assert len(set(ALPHABET)) == 32
    assert not set("ILOU") & set(ALPHABET)


@given(names, st.integers(0, 3))
def test_a_printed_code_is_read_back_however_it_is_typed(letter: str, attempt: int) -> None:
    code = short_code(key="k", letter=letter, attempt=attempt)
    assert len(code) == 9
    typed = printed_code(code).lower().replace("0", "o").replace("1", "l")
    assert read_code(typed) == code
    assert read_code(f" {code[:4]}-{code[4:]} ") == code


@given(names, st.integers(0, 8), st.sampled_from(ALPHABET))
def test_one_wrong_letter_never_passes(letter: str, place: int, wrong: str) -> None:
    code = short_code(key="k", letter=letter)
    other = code[:place] + wrong + code[place + 1 :]
    assert read_code(other) == (code if other == code else None)


@given(names, st.integers(0, 8), st.integers(0, 8))
def test_two_letters_exchanged_never_pass(letter: str, one: int, two: int) -> None:
    code = list(short_code(key="k", letter=letter))
    swapped = list(code)
    swapped[one], swapped[two] = swapped[two], swapped[one]
    assert (read_code("".join(swapped)) is None) == (swapped != code)


@pytest.mark.parametrize("typed", ["", "KW7", "KW7 4PD 9R", "KW7 4PD 9R!", "A" * 40])
def test_what_cannot_be_a_code_is_none(typed: str) -> None:
    assert read_code(typed) is None


def test_an_attempt_steps_past_a_code_that_is_taken() -> None:
    codes = {short_code(key="k", letter="a", attempt=attempt) for attempt in range(20)}
    assert len(codes) == 20
