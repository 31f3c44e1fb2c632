"""The days on which an office is closed, against the calendar of the federal government."""

from __future__ import annotations

from datetime import date

import pytest

from scheduling.closed_days import closed_days
from scheduling.domain.workdays import days_after


@pytest.mark.parametrize(
    "day",
    [  # 5 U.S.C. 6103, with the days observed, as the federal calendar of 2026 lists them
        date(2026, 1, 1),
        date(2026, 1, 19),
        date(2026, 5, 25),
        date(2026, 7, 3),  # for Saturday 4 July
        date(2026, 9, 7),
        date(2026, 11, 11),
        date(2026, 11, 26),
        date(2026, 12, 25),
    ],
)
@pytest.mark.parametrize("state", ["WA", "OR", "TX"])
def test_federal_holidays_are_closed_days_of_a_state(state: str, day: date) -> None:
    assert day in closed_days(state)


@pytest.mark.parametrize("state", ["", "ZZ", "wa"])
def test_without_a_state_only_weekends_are_closed(state: str) -> None:
    assert closed_days(state) == frozenset()


def test_ten_working_days_over_thanksgiving() -> None:
    # Tuesday 24 November 2026; in Oregon only Thursday the 26th is closed: 9 December
    found = days_after(date(2026, 11, 24), 10, is_working=True, holidays=closed_days("OR"))
    assert found == date(2026, 12, 9)
