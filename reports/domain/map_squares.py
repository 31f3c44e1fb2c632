"""A town cut into squares with names, so that an area can be chosen without drawing on a map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

ACROSS, DOWN = 6, 4
"""Columns A to F from the west, rows 1 to 4 from the north."""

COLUMNS = "ABCDEF"


@dataclass(frozen=True, slots=True)
class Squares:
    """The box around all places, in degrees, cut into equal squares."""

    south: float
    west: float
    north: float
    east: float

    def name_of(self, lat: float, lon: float) -> str:
        """The square a place lies in: "A1" is the north-west corner; "" outside of the box."""
        if not (self.south <= lat <= self.north and self.west <= lon <= self.east):
            return ""
        column = _step(lon - self.west, self.east - self.west, ACROSS)
        row = _step(self.north - lat, self.north - self.south, DOWN)
        return f"{COLUMNS[column]}{row + 1}"


def squares_around(places: Sequence[tuple[float, float]]) -> Squares | None:
    """The squares that hold all places (latitude, longitude); None without any."""
    if not places:
        return None
    lats, lons = [lat for lat, _ in places], [lon for _, lon in places]
    return Squares(south=min(lats), west=min(lons), north=max(lats), east=max(lons))


def _step(way: float, whole: float, steps: int) -> int:
    return 0 if whole <= 0 else min(int(way / whole * steps), steps - 1)
