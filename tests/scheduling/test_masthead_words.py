"""Which word of the masthead is lit: the one by whose page a person came there."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from scheduling.views.desk import Seat
from scheduling.views.masthead import _words


def lit(page: str, *, seat: Seat) -> list[str]:
    """The words that are lit on a page, by its name, for who sits there."""
    request: Any = SimpleNamespace(resolver_match=SimpleNamespace(url_name=page))
    desk: Any = SimpleNamespace(program=SimpleNamespace(code="flats"), seat=seat)
    return [word.text for word in _words(request, desk) if word.is_here]


@pytest.mark.parametrize("page", ["firms", "firm-change", "lapses"])
def test_a_company_comes_to_its_own_pages_from_its_tests_the_office_from_its_registry(
    page: str,
) -> None:
    assert lit(page, seat=Seat.FIRM) == ["Field tests"]
    assert lit(page, seat=Seat.OFFICE) == ["Registry"]


@pytest.mark.parametrize("page", ["testers", "tester", "tester-new", "gauge", "term-new"])
def test_testers_and_gauges_are_part_of_the_registry(page: str) -> None:
    assert lit(page, seat=Seat.OFFICE) == ["Registry"]


def test_a_page_of_its_own_word_is_lit_for_anybody_who_has_it() -> None:
    assert lit("field-test", seat=Seat.FIRM) == ["Field tests"]
    assert lit("round", seat=Seat.FIRM) == ["Rounds"]
