"""An area drawn on a map: its corners as an address holds them, and which places lie in it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

MOST_CORNERS: Final = 200
_CORNER: Final = re.compile(r"^\s*(-?\d{1,3}(?:\.\d{1,17})?)\s*,\s*(-?\d{1,3}(?:\.\d{1,17})?)\s*$")


class AreaError(ValueError):
    """The text is no area; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, slots=True)
class DrawnArea:
    """A polygon of corners (latitude, longitude) in degrees; the last is joined to the first."""

    corners: tuple[tuple[float, float], ...]

    @property
    def text(self) -> str:
        """As an address holds it: "46.85,-118.3;46.86,-118.29;46.84,-118.28"."""
        return ";".join(f"{lat:.6g},{lon:.7g}" for lat, lon in self.corners)

    def holds(self, lat: float, lon: float) -> bool:
        """Whether a place lies within or on the edge (even-odd rule; a town is flat enough)."""
        is_in = False
        for (lat_1, lon_1), (lat_2, lon_2) in pairwise((*self.corners, self.corners[0])):
            side = (lon_2 - lon_1) * (lat - lat_1) - (lat_2 - lat_1) * (lon - lon_1)
            if side == 0 and _between(lat_1, lat, lat_2) and _between(lon_1, lon, lon_2):
                return True
            if (lat_1 > lat) != (lat_2 > lat):
                at = lon_1 + (lat - lat_1) / (lat_2 - lat_1) * (lon_2 - lon_1)
                is_in ^= lon < at
        return is_in


def area_in(text: str) -> DrawnArea | None:
    """The area of a text; None for an empty one. Raises AreaError."""
    if not text.strip():
        return None
    parts = [part for part in text.split(";") if part.strip()]
    if len(parts) > MOST_CORNERS:
        raise AreaError(
            f"The area has {len(parts)} corners, more than {MOST_CORNERS}: draw it more simply."
        )
    corners = _distinct([_corner(part) for part in parts])
    if len(corners) < 3:
        raise AreaError("The area has fewer than three corners: draw it around the premises.")
    return DrawnArea(corners=tuple(corners))


def _corner(part: str) -> tuple[float, float]:
    found = _CORNER.match(part)
    if found is None:
        raise AreaError(
            f"“{part[:40]}” is no corner: latitude, longitude in degrees, as 46.85,-118.3."
        )
    lat, lon = float(found[1]), float(found[2])
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        raise AreaError(f"“{part[:40]}” is no place on earth: latitude first, then longitude.")
    return lat, lon


def _distinct(corners: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Without corners that stand on the one before; the last may repeat the first."""
    kept: list[tuple[float, float]] = []
    for corner in corners:
        if not kept or corner != kept[-1]:
            kept.append(corner)
    return kept[:-1] if len(kept) > 1 and kept[0] == kept[-1] else kept


def _between(a: float, value: float, b: float) -> bool:
    return min(a, b) <= value <= max(a, b)
