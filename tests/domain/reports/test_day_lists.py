"""Lists of days are read as people write them."""

from __future__ import annotations

from datetime import date

import pytest

from reports.domain.day_lists import NoDayError, days_in, days_said

EVE, LEAP = date(2026, 12, 24), date(2028, 2, 29)


@pytest.mark.parametrize(
    "text",
    [
        "December 24, 2026; February 29, 2028",
        "Feb 29, 2028, Dec. 24 2026",
        "2028-02-29 2026-12-24",
        " dec 24, 2026\r\nFebruary\xa029, 2028;",
        "2026-12-24, 2028-02-29, 2026-12-24",
    ],
)
def test_a_list_may_be_in_words_or_figures(text: str) -> None:
    assert days_in(text) == [EVE, LEAP]


def test_what_is_said_is_read_back() -> None:
    assert days_said([EVE, LEAP]) == "December 24, 2026; February 29, 2028"
    assert days_in(days_said([EVE, LEAP])) == [EVE, LEAP]
    assert days_in("") == []


@pytest.mark.parametrize(
    ("text", "piece"),
    [
        ("December 24, 2026; soon", "soon"),
        ("February 29, 2027", "February 29, 2027"),
        ("Decimber 24, 2026", "Decimber 24, 2026"),
        ("12/24/2026", "12/24/2026"),
        ("2026-13-01", "2026-13-01"),
    ],
)
def test_what_is_no_day_is_named(text: str, piece: str) -> None:
    with pytest.raises(NoDayError, match=piece):
        days_in(text)
