"""A tester's day on a drawn map: legs with arrows, stops as numbered discs, labels kept apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from reports.drawing.streets import METRES_A_DEGREE, Street
from reports.drawing.svg import Sheet, figure, text_width

_PAD: Final = 56.0
_DISC: Final = 11.5
_LABEL_HIGH: Final = 16.0
_MILE_M: Final = 1609.344
_SCALE_MILES: Final = (0.1, 0.25, 0.5, 1, 2, 5, 10, 25, 50)
_SCALE_WORDS: Final = {0.25: "¼ mile", 0.5: "½ mile", 1: "1 mile"}


@dataclass(frozen=True, kw_only=True)
class RouteStop:
    """A stop with its place in the order, in degrees, and the words beside it."""

    number: int
    lat: float
    lon: float
    words: str


@dataclass(frozen=True, kw_only=True)
class Projection:
    """Degrees to px, north up, true in both directions at the middle latitude."""

    lat_0: float
    lon_0: float
    px_a_metre: float
    width: float
    height: float

    def at(self, lat: float, lon: float) -> tuple[float, float]:
        """Where a place stands on the sheet."""
        across = METRES_A_DEGREE * math.cos(math.radians(self.lat_0))
        x = self.width / 2 + (lon - self.lon_0) * across * self.px_a_metre
        y = self.height / 2 - (lat - self.lat_0) * METRES_A_DEGREE * self.px_a_metre
        return x, y


def projection_of(
    spots: Sequence[tuple[float, float]], *, width: float, height: float
) -> Projection:
    """A projection that holds all spots with a margin; a lone spot gets a mile around it."""
    lats = [lat for lat, _ in spots] or [0.0]
    lons = [lon for _, lon in spots] or [0.0]
    lat_0 = (min(lats) + max(lats)) / 2
    lon_0 = (min(lons) + max(lons)) / 2
    across = METRES_A_DEGREE * math.cos(math.radians(lat_0))
    wide = max((max(lons) - min(lons)) * across, 600.0)
    tall = max((max(lats) - min(lats)) * METRES_A_DEGREE, 600.0)
    scale = min((width - 2 * _PAD) / wide, (height - 2 * _PAD) / tall)
    return Projection(lat_0=lat_0, lon_0=lon_0, px_a_metre=scale, width=width, height=height)


def route_map(
    stops: Sequence[RouteStop],
    *,
    depot: tuple[float, float],
    streets: Sequence[Street],
    width: float,
    height: float,
    says: str,
) -> str:
    """The day as driven: depot, stops in order, and back to the depot."""
    spots = [depot, *((stop.lat, stop.lon) for stop in stops)]
    projection = projection_of(spots, width=width, height=height)
    sheet = Sheet(width=width, height=height, says=says)
    sheet.rect(0, 0, width, height, look="land")
    _streets(sheet, streets, projection)
    points = [projection.at(lat, lon) for lat, lon in spots]
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        _leg(sheet, x1, y1, x2, y2)
    x, y = points[0]
    sheet.rect(x - 7, y - 7, 14, 14, look="hollow")
    taken = [(x - 9, y - 9, x + 9, y + 9)]
    taken += [(px - 12, py - 12, px + 12, py + 12) for px, py in points[1:]]
    _label(sheet, x, y, "depot", taken)
    for stop, (px, py) in zip(stops, points[1:], strict=True):
        sheet.dot(px, py, _DISC, look="solid")
        sheet.text(px, py + 4.5, str(stop.number), look="in-disc")
    for stop, (px, py) in zip(stops, points[1:], strict=True):
        _label(sheet, px, py, stop.words, taken)
    _scale_bar(sheet, projection)
    _north(sheet)
    sheet.rect(0.5, 0.5, width - 1, height - 1, look="frame")
    return sheet.markup()


def _streets(sheet: Sheet, streets: Sequence[Street], projection: Projection) -> None:
    for look in ("street-edge", "street"):
        for street in streets:
            x1, y1 = projection.at(street.lat_1, street.lon_1)
            x2, y2 = projection.at(street.lat_2, street.lon_2)
            piece = _inside(x1, y1, x2, y2, width=sheet.width, height=sheet.height)
            if piece:
                sheet.line(*piece, look=look)


def _inside(
    x1: float, y1: float, x2: float, y2: float, *, width: float, height: float
) -> tuple[float, float, float, float] | None:
    """The part of a line within the sheet (Liang and Barsky's clipping)."""
    dx, dy = x2 - x1, y2 - y1
    start, end = 0.0, 1.0
    for p, q in ((-dx, x1), (dx, width - x1), (-dy, y1), (dy, height - y1)):
        if p == 0:
            if q < 0:
                return None
        elif p < 0:
            start = max(start, q / p)
        else:
            end = min(end, q / p)
    if start >= end:
        return None
    return x1 + start * dx, y1 + start * dy, x1 + end * dx, y1 + end * dy


def _leg(sheet: Sheet, x1: float, y1: float, x2: float, y2: float) -> None:
    sheet.line(x1, y1, x2, y2, look="leg")
    length = math.hypot(x2 - x1, y2 - y1)
    if length < 44:
        return
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    x, y = (x1 + x2) / 2 + ux * 4, (y1 + y2) / 2 + uy * 4
    left = (x - 9 * ux - 4 * uy, y - 9 * uy + 4 * ux)
    right = (x - 9 * ux + 4 * uy, y - 9 * uy - 4 * ux)
    corners = "L".join(f"{figure(a)} {figure(b)}" for a, b in ((x, y), left, right))
    sheet.path(f"M{corners}z", look="solid")


def _label(
    sheet: Sheet, x: float, y: float, words: str, taken: list[tuple[float, float, float, float]]
) -> None:
    """Words on paper beside a spot, at the first of eight places that touches nothing."""
    wide = text_width(words) + 8
    beside, half = 15.0, _LABEL_HIGH / 2
    places = (
        (x + beside, y - half),
        (x - beside - wide, y - half),
        (x - wide / 2, y - beside - _LABEL_HIGH),
        (x - wide / 2, y + beside),
        (x + 8, y + beside),
        (x - wide - 8, y - beside - _LABEL_HIGH),
        (x + 8, y - beside - _LABEL_HIGH),
        (x - wide - 8, y + beside),
    )
    for left, top in places:
        box = (left, top, left + wide, top + _LABEL_HIGH)
        fits = left > 2 and box[2] < sheet.width - 2 and top > 2 and box[3] < sheet.height - 2
        if fits and not any(_touch(box, other) for other in taken):
            taken.append(box)
            sheet.rect(left, top, wide, _LABEL_HIGH, look="label-ground")
            sheet.text(left + 4, top + 12, words)
            return


def _touch(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _scale_bar(sheet: Sheet, projection: Projection) -> None:
    miles = next(
        (m for m in reversed(_SCALE_MILES) if m * _MILE_M * projection.px_a_metre < 90),
        _SCALE_MILES[0],
    )
    wide = miles * _MILE_M * projection.px_a_metre
    x, y = sheet.width - 18 - wide, sheet.height - 26
    words = _SCALE_WORDS.get(miles, f"{miles:g} miles")
    sheet.path(f"M{figure(x)} {figure(y - 5)}v5h{figure(wide)}v-5", look="ink w2")
    sheet.text(x, y + 15, words)


def _north(sheet: Sheet) -> None:
    x, y = sheet.width - 26, sheet.height - 104
    sheet.text(x, y - 4, "N", look="serif bold middle")
    sheet.path(f"M{figure(x)} {figure(y)}l5 18h-10z", look="solid")
    sheet.path(f"M{figure(x)} {figure(y + 38)}l5-18h-10z", look="hollow")
