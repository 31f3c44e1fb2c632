"""Text for calendars: nothing that data holds can begin a line."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from reports.domain.calendar_text import one_line, paragraphs
from reports.domain.cautions import (
    FIRE_LINE,
    GOVERNED_BY,
    MEDICAL_SUPPLY,
    TENANTS,
    VAULT,
    SiteTraits,
    cautions_for,
    speaks_of_vault,
)

BREAKS = "\r\n\v\f\x1c\x1d\x1e\x85\u2028\u2029"  # every line break str.splitlines knows
ANY_TEXT = st.text(alphabet=st.one_of(st.characters(), st.sampled_from(BREAKS)))


@given(ANY_TEXT)
def test_one_line_is_one_line_whatever_comes_in(text: str) -> None:
    cleaned = one_line(text)
    assert cleaned.splitlines() in ([cleaned], [])
    assert all(char >= " " for char in cleaned)
    assert one_line(cleaned) == cleaned
    cleaned.encode()  # no lone surrogate is left


@given(st.lists(ANY_TEXT))
def test_paragraphs_have_as_many_lines_as_there_are_texts_with_words(texts: list[str]) -> None:
    lines = [line for line in map(one_line, texts) if line]
    assert paragraphs(texts).split("\n") == (lines or [""])


def test_words_stay_apart_where_a_break_was() -> None:
    assert one_line("gate\r\nATTENDEE:x") == "gate ATTENDEE:x"
    assert one_line("gate\u2028code\x854411") == "gate code 4411"


def test_a_reversal_of_reading_is_taken_out() -> None:
    assert one_line("gate \u202e1144") == "gate 1144"


def test_each_trait_of_a_site_brings_its_caution_and_the_rest_stay_silent() -> None:
    traits = {
        "has_fire_line": FIRE_LINE,
        "has_medical_supply": MEDICAL_SUPPLY,
        "has_vault": VAULT,
        "has_tenants": TENANTS,
    }
    for trait, words in traits.items():
        told = cautions_for(SiteTraits(**{trait: True}))
        assert [one for one in traits.values() if one in told] == [words]
        assert told[-1] == GOVERNED_BY


def test_a_vault_is_read_from_the_place_in_words() -> None:
    assert speaks_of_vault("vault at curb")
    assert speaks_of_vault("Meter-pit, NE corner")
    assert not speaks_of_vault("behind the Pitman building")
