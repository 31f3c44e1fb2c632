"""The lane of field tests: readings on a true scale, the limit dashed, a failure crossed."""

from __future__ import annotations

from itertools import pairwise

from reports.drawing.history import DrawnTest, History
from reports.drawing.svg import Sheet, text_width
from reports.drawing.window import Window


def field_tests_lane(
    sheet: Sheet, history: History, *, window: Window, today_x: float, top: float, bottom: float
) -> None:
    """Draw the tests within the window between two heights of the sheet."""
    shown = [test for test in history.tests if window.holds(test.on)]
    limit = history.reading.limit if history.reading else None
    figures = [float(test.reading) for test in shown if test.reading is not None]
    low, high = _scale([*figures, *([float(limit)] if limit is not None else [])])
    floor, ceiling = (bottom - 42, top + 40) if figures else (bottom - 31, bottom - 31)

    bare = bottom - (14 if figures else 31)  # a test without readings stands on no scale

    def height(value: float) -> float:
        return floor - (value - low) / (high - low) * (floor - ceiling)

    if limit is not None and history.reading and figures:
        y = height(float(limit))
        sheet.line(window.left, y, window.width, y, look="dashed")
    points = [
        (window.x(test.on), height(float(test.reading)) if test.reading is not None else bare)
        for test in shown
    ]
    measured = [at for at, test in zip(points, shown, strict=True) if test.reading is not None]
    sheet.polyline(measured, look="edge w1")
    if limit is not None and history.reading and figures:
        _limit_words(sheet, history.reading.limit_words, y + 15, window=window, points=points)
    passes = [number for number, test in enumerate(shown) if test.passed]
    crowded = {b for a, b in pairwise(passes) if points[b][0] - points[a][0] < 22}
    for number, ((x, y), test) in enumerate(zip(points, shown, strict=True)):
        words = "" if test.passed and number in crowded else _said(test)
        _field_test(sheet, test, x=x, y=y, words=words, is_by_today=0 <= today_x - x < 36)


def _limit_words(
    sheet: Sheet, words: str, y: float, *, window: Window, points: list[tuple[float, float]]
) -> None:
    """The limit in words under its line, at the first place where no test stands."""
    wide = text_width(words)
    for share in (0.0, 0.25, 0.45, 0.65):
        x = window.left + 4 + share * (window.width - window.left)
        if not any(x - 24 < px < x + wide + 24 and abs(py - y) < 34 for px, py in points):
            break
    sheet.text(x, y, words, look="worked")


def _scale(figures: list[float]) -> tuple[float, float]:
    """A true scale with room above and below; one figure alone stands in the middle."""
    if not figures:
        return 0.0, 1.0
    low, high = min(figures), max(figures)
    spread = max(high - low, 0.5)
    return low - 0.25 * spread, high + 0.25 * spread


def _said(test: DrawnTest) -> str:
    """`2.8`, `1.7 failed`, or nothing for a pass without readings."""
    figure = f"{test.reading.normalize():f}" if test.reading is not None else ""
    if figure and "." not in figure:
        figure += ".0"
    return figure if test.passed else f"{figure} failed".strip()


def _field_test(
    sheet: Sheet, test: DrawnTest, *, x: float, y: float, words: str, is_by_today: bool
) -> None:
    """A dot or a saltire with its words; beside today's line they end before it."""
    anchor = "end" if is_by_today else "middle"
    if test.passed:
        sheet.dot(x, y, 4.6, look="solid")
        if words:
            sheet.text(x + 4 if is_by_today else x, y - 11, words, look=anchor)
        return
    sheet.saltire(x, y, 5)
    sheet.text(x + 5 if is_by_today else x, y + 21, words, look=f"past {anchor}")
