"""The drawing of one reading: every test stands on it, and nothing stands outside it."""

from __future__ import annotations

import re
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from reports.drawing.trend import DrawnTrend, TrendPoint, trend_drawing


def drawn(points: list[TrendPoint], *, with_line: bool = False) -> str:
    line = ((points[0].on, 3.0), (date(2027, 5, 1), 2.2)) if with_line else None
    trend = DrawnTrend(
        points=tuple(points), limit=2.0, limit_words="limit 2.0", line=line, says="A <reading>"
    )
    return trend_drawing(trend, width=326)


def point(year: int, found: float | None, left: float | None, *, is_below: bool) -> TrendPoint:
    return TrendPoint(on=date(year, 5, 1), found=found, left=left, is_below=is_below)


def test_a_repair_has_a_cross_a_stroke_and_a_dot() -> None:
    markup = drawn([point(2024, 1.5, 2.6, is_below=True), point(2025, 2.5, 2.5, is_below=False)])
    assert markup.count("red w3") == 1
    assert markup.count('class="solid"') == 2
    assert "A &lt;reading&gt;" in markup


def test_what_is_worked_out_is_open() -> None:
    points = [point(2020 + n, 3.0 - 0.1 * n, 3.0 - 0.1 * n, is_below=False) for n in range(5)]
    assert drawn(points, with_line=True).count('class="hollow"') == 1
    assert 'class="hollow"' not in drawn(points)


@given(st.lists(st.one_of(st.none(), st.floats(0, 200)), min_size=1, max_size=30))
def test_nothing_stands_outside_the_sheet(figures: list[float | None]) -> None:
    points = [
        point(1990 + n, value, value, is_below=value is None or value < 2)
        for n, value in enumerate(figures)
    ]
    markup = drawn(points, with_line=True)
    for x, y in re.findall(r'c?x="(-?[\d.]+)" c?y="(-?[\d.]+)"', markup):
        assert -1 <= float(x) <= 327
        assert -1 <= float(y) <= 145
