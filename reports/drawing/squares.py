"""The premises of an area as dots, under a net of named squares, with an area drawn by hand."""

from __future__ import annotations

from collections.abc import Sequence

from reports.domain.map_squares import ACROSS, DOWN, Squares
from reports.drawing.ground import Ground, finish, name_streets, sheet_on
from reports.drawing.projection import Projection
from reports.drawing.svg import figure


def squares_map(
    places: Sequence[tuple[float, float]],
    squares: Squares,
    *,
    corners: Sequence[tuple[float, float]],
    ground: Ground,
    projection: Projection,
    says: str,
) -> str:
    """North up, true in both directions; each dot is a premises, `corners` the drawn area's."""
    sheet, taken = sheet_on(ground, projection, says=says)
    left, bottom = projection.at(squares.south, squares.west)
    right, top = projection.at(squares.north, squares.east)
    wide, high = (right - left) / ACROSS, (bottom - top) / DOWN
    names = [
        (left + wide * column + 5, top + high * row + 15, f"{'ABCDEF'[column]}{row + 1}")
        for column in range(ACROSS)
        for row in range(DOWN)
    ]
    taken.add(*((x - 3, y - 13, x + 20, y + 4) for x, y, _ in names))
    name_streets(sheet, ground, projection, taken)
    for lat, lon in places:
        sheet.dot(*projection.at(lat, lon), 2.2, look="dot")
    for column in range(ACROSS + 1):
        sheet.line(left + wide * column, top, left + wide * column, bottom, look="edge w1")
    for row in range(DOWN + 1):
        sheet.line(left, top + high * row, right, top + high * row, look="edge w1")
    for x, y, name in names:
        sheet.text(x, y, name, look="bold")
    if corners:
        spots = [projection.at(*corner) for corner in corners]
        sheet.path("M" + "L".join(f"{figure(x)} {figure(y)}" for x, y in spots) + "z", look="area")
    finish(sheet, projection)
    return sheet.markup()
