"""Text from data on one line of paper."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from notices.domain.cleaning import TEXT_CAP, WORD_CAP, clean


@given(st.text(max_size=400))
def test_what_comes_out_is_one_line_without_controls_or_turned_reading(text: str) -> None:
    shown = clean(text)
    kinds = {unicodedata.category(letter) for letter in shown}
    assert not kinds & {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert len(shown) <= TEXT_CAP
    assert all(len(word) <= WORD_CAP for word in shown.split())
    assert clean(shown) == shown


@given(st.text(alphabet=st.characters(categories=["Lu", "Ll", "Nd"]), max_size=WORD_CAP))
def test_an_ordinary_word_stays_as_it_is(word: str) -> None:
    assert clean(word) == unicodedata.normalize("NFC", word)[:WORD_CAP]


def test_examples() -> None:
    assert clean("a\u2028b\x85c\td\xa0e") == "a b c d e"
    assert clean("ab\u202ecd\x00") == "abcd"
    assert clean("x" * 10_000).endswith("\u2026")
