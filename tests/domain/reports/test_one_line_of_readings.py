"""Readings in one line, as calendars and day sheets print them; the words are common practice."""

from __future__ import annotations

import pytest

from reports.domain.readings import ReadingName
from reports.domain.wording import in_one_line


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        (
            {"relief": "2.4", "check1": "5.9", "check2_tight": "yes", "shutoff2_tight": "no"},
            "relief valve opened at 2.4, check 1 held 5.9, check 2 tight, shutoff 2 leaked",
        ),
        (
            {"relief": "did not open", "check1": "leaked"},
            "relief valve did not open, check 1 leaked",
        ),
        (
            {"air_inlet": "1.2", "air_inlet_full": "no", "check": "1.0"},
            "air inlet opened at 1.2, air inlet did not open fully, check held 1.0",
        ),
        (
            {"bypass_check1": "1.4", "meter_moved": "no", "bypass_relief": ""},
            "bypass check 1 held 1.4, meter did not move",
        ),
        ({}, ""),
    ],
)
def test_readings_are_said_as_a_tester_says_them(readings: dict[str, str], said: str) -> None:
    assert in_one_line(readings) == said


def test_every_reading_has_words_without_a_line_beneath() -> None:
    for name in ReadingName:
        assert "_" not in in_one_line({name.value: "1.0"})
