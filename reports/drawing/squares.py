"""The premises of an area as dots, under a net of named squares."""

from __future__ import annotations

from collections.abc import Sequence

from reports.domain.map_squares import ACROSS, DOWN, Squares
from reports.drawing.route import projection_of
from reports.drawing.svg import Sheet


def squares_map(
    places: Sequence[tuple[float, float]],
    squares: Squares,
    *,
    width: float,
    height: float,
    says: str,
) -> str:
    """North up, true in both directions; each dot is a premises."""
    corners = [(squares.south, squares.west), (squares.north, squares.east)]
    projection = projection_of(corners, width=width, height=height)
    sheet = Sheet(width=width, height=height, says=says)
    sheet.rect(0, 0, width, height, look="land")
    left, bottom = projection.at(*corners[0])
    right, top = projection.at(*corners[1])
    for lat, lon in places:
        x, y = projection.at(lat, lon)
        sheet.dot(x, y, 2.2, look="dot")
    for column in range(ACROSS + 1):
        x = left + (right - left) * column / ACROSS
        sheet.line(x, top, x, bottom, look="edge w1")
    for row in range(DOWN + 1):
        y = top + (bottom - top) * row / DOWN
        sheet.line(left, y, right, y, look="edge w1")
    for column in range(ACROSS):
        for row in range(DOWN):
            x = left + (right - left) * column / ACROSS + 5
            y = top + (bottom - top) * row / DOWN + 15
            sheet.text(x, y, f"{'ABCDEF'[column]}{row + 1}", look="small")
    return sheet.markup()
