"""A day's strip: work where it is, lunch left out of the driving, a notch for each promise."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from reports.drawing.daystrip import day_strip

HOUR_PX = 176 / 10


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 11, 25, hour, minute, tzinfo=UTC)


def strokes(markup: str, look: str) -> list[tuple[float, float]]:
    """The ends, from left to right, of the level strokes of a look."""
    found = re.findall(rf'class="{look}" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', markup)
    return [(float(x), float(to_x)) for x, y, to_x, to_y in found if y == to_y == "8"]


def test_lunch_is_a_gap_in_the_line_of_driving() -> None:
    visits = [(at(8), at(9)), (at(13), at(14))]
    whole = strokes(day_strip(visits, says=""), "ink w1")
    assert len(whole) == 1
    before, after = strokes(day_strip(visits, says="", lunch=(at(12), at(12, 30))), "ink w1")
    assert (before[0], after[1]) == whole[0]
    assert before[1] == pytest.approx(5 * HOUR_PX, abs=0.1)
    assert after[0] == pytest.approx(5.5 * HOUR_PX, abs=0.1)


def test_a_promised_arrival_has_its_notch_and_others_have_none() -> None:
    visits = [(at(8), at(9)), (at(13), at(14))]
    assert day_strip(visits, says="").count("ink w2") == 0
    assert day_strip(visits, says="", promised=[at(13)]).count("ink w2") == 1


def test_lunch_after_the_last_visit_leaves_the_line_whole() -> None:
    visits = [(at(8), at(9)), (at(10), at(11))]
    drawn = strokes(day_strip(visits, says="", lunch=(at(12), at(13))), "ink w1")
    assert drawn == strokes(day_strip(visits, says=""), "ink w1")
