"""A tester's day on a drawn map: legs with arrows, stops as numbered discs, labels kept apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from reports.drawing.ground import Ground, finish, lay_ground, name_streets
from reports.drawing.projection import Projection
from reports.drawing.surface import Surface
from reports.drawing.svg import Sheet

_DISC: Final = 11.5


@dataclass(frozen=True, kw_only=True)
class RouteStop:
    """A stop with its place in the order, in degrees, and the words beside it."""

    number: int
    lat: float
    lon: float
    words: str
    key: str = ""
    """By what the page knows the stop."""


def route_map(
    stops: Sequence[RouteStop],
    *,
    depot: tuple[float, float],
    ground: Ground,
    projection: Projection,
    says: str,
) -> str:
    """The day as driven, as SVG."""
    sheet = Sheet(width=projection.width, height=projection.height, says=says)
    draw_route(sheet, stops, depot=depot, ground=ground, projection=projection)
    return sheet.markup()


def draw_route(
    sheet: Surface,
    stops: Sequence[RouteStop],
    *,
    depot: tuple[float, float],
    ground: Ground,
    projection: Projection,
) -> None:
    """The day as driven: the ground, depot, stops in order, and back to the depot."""
    spots = [depot, *((stop.lat, stop.lon) for stop in stops)]
    taken = lay_ground(sheet, ground, projection)
    points = [projection.at(lat, lon) for lat, lon in spots]
    taken.add(*((x - 12, y - 12, x + 12, y + 12) for x, y in points))
    legs = list(zip(points, [*points[1:], points[0]], strict=True))
    for (x1, y1), (x2, y2) in legs:
        _leg(sheet, x1, y1, x2, y2)
    x, y = points[0]
    sheet.rect(x - 7, y - 7, 14, 14, look="hollow")
    taken.beside(x, y, "depot")
    for stop, (px, py) in zip(stops, points[1:], strict=True):
        sheet.open_group(stop.key)
        sheet.dot(px, py, _DISC, look="solid")
        sheet.text(px, py + 4.5, str(stop.number), look="in-disc")
        sheet.close_group()
    for stop, (px, py) in zip(stops, points[1:], strict=True):
        taken.beside(px, py, stop.words)
    for leg in legs:
        taken.line(*leg)
    name_streets(sheet, ground, projection, taken)
    finish(sheet, projection)


def _leg(sheet: Surface, x1: float, y1: float, x2: float, y2: float) -> None:
    sheet.line(x1, y1, x2, y2, look="leg")
    length = math.hypot(x2 - x1, y2 - y1)
    if length < 44:
        return
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    x, y = (x1 + x2) / 2 + ux * 4, (y1 + y2) / 2 + uy * 4
    left = (x - 9 * ux - 4 * uy, y - 9 * uy + 4 * ux)
    right = (x - 9 * ux + 4 * uy, y - 9 * uy - 4 * ux)
    sheet.polygon(((x, y), left, right), look="solid")
