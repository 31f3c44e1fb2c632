"""Degrees to px on a sheet, and what of it lies within."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from reports.drawing.streets import METRES_A_DEGREE
from scheduling.roads.drawn import Extent

MILE_M: Final = 1609.344
"""Exact: the international mile of 1959."""

_PAD: Final = 56.0
_LEAST_M: Final = 600.0
_EQUATOR_M_A_PX: Final = 156_543.034
"""Of the usual web map at zoom 0, with squares of 256 px."""

Spot = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Projection:
    """Degrees to px, north up, true in both directions at the middle latitude."""

    lat_0: float
    lon_0: float
    px_a_metre: float
    width: float
    height: float

    @property
    def across(self) -> float:
        """Metres in a degree of longitude at the middle latitude."""
        return METRES_A_DEGREE * math.cos(math.radians(self.lat_0))

    @property
    def zoom(self) -> int:
        """About the zoom of a web map on which things stand as large as here."""
        metres_a_px = 1 / self.px_a_metre
        at_zero = _EQUATOR_M_A_PX * math.cos(math.radians(self.lat_0))
        return min(max(round(math.log2(at_zero / metres_a_px)), 0), 22)

    @property
    def extent(self) -> Extent:
        """What the sheet holds, in degrees."""
        lat = self.height / 2 / self.px_a_metre / METRES_A_DEGREE
        lon = self.width / 2 / self.px_a_metre / self.across
        return Extent(
            south=self.lat_0 - lat,
            north=self.lat_0 + lat,
            west=self.lon_0 - lon,
            east=self.lon_0 + lon,
        )

    def at(self, lat: float, lon: float) -> Spot:
        """Where a place stands on the sheet."""
        x = self.width / 2 + (lon - self.lon_0) * self.across * self.px_a_metre
        y = self.height / 2 - (lat - self.lat_0) * METRES_A_DEGREE * self.px_a_metre
        return x, y

    def runs(self, points: Sequence[Spot]) -> Iterator[list[Spot]]:
        """The parts of a line (latitude, longitude) that lie on the sheet, in px."""
        run: list[Spot] = []
        for start, end in pairwise(self.at(*point) for point in points):
            piece = inside(*start, *end, width=self.width, height=self.height)
            if piece is None:
                continue
            first, last = piece[:2], piece[2:]
            if run and run[-1] != first:
                yield run
                run = []
            run = [*run, last] if run else [first, last]
        if run:
            yield run


def projection_of(
    spots: Sequence[Spot], *, width: float, height: float, pad: float = _PAD
) -> Projection:
    """A projection that holds all spots with a margin; a lone spot gets 600 m around it."""
    lats = [lat for lat, _ in spots] or [0.0]
    lons = [lon for _, lon in spots] or [0.0]
    lat_0 = (min(lats) + max(lats)) / 2
    lon_0 = (min(lons) + max(lons)) / 2
    across = METRES_A_DEGREE * math.cos(math.radians(lat_0))
    wide = max((max(lons) - min(lons)) * across, _LEAST_M)
    tall = max((max(lats) - min(lats)) * METRES_A_DEGREE, _LEAST_M)
    scale = min((width - 2 * pad) / wide, (height - 2 * pad) / tall)
    return Projection(lat_0=lat_0, lon_0=lon_0, px_a_metre=scale, width=width, height=height)


def inside(
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
