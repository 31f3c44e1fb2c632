"""Streets drawn from the addresses on record: premises of one street that stand in a line."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

METRES_A_DEGREE: Final = 111_320.0
_LEAST_PREMISES: Final = 3
_LEAST_LENGTH_M: Final = 150.0
_MOST_SPREAD_M: Final = 90.0
_SAME_STREET_M: Final = 140.0
_SAME_END_M: Final = 600.0
_NUMBER: Final = re.compile(
    r"^\s*\d+[A-Za-z]?\s+(.+?)(?:\s*(?:#|,|apt|unit|ste|suite).*)?$", re.IGNORECASE
)


@dataclass(frozen=True, kw_only=True)
class Place:
    """An address with its coordinates, in degrees."""

    address: str
    lat: float
    lon: float


@dataclass(frozen=True, kw_only=True)
class Street:
    """A straight piece of street, end to end."""

    name: str
    lat_1: float
    lon_1: float
    lat_2: float
    lon_2: float


def street_of(address: str) -> str:
    """`N Hawthorn Ave` from `2163 N Hawthorn Ave`; empty where there is no house number."""
    found = _NUMBER.match(address)
    return " ".join(found.group(1).split()) if found else ""


def streets_of(places: Iterable[Place]) -> list[Street]:
    """Streets with at least three premises in a line at least 150 m long, by name.

    A street is the principal axis of its premises; where they lie more than 90 m off it (root
    mean square) the line would be a guess, and none is drawn.
    """
    by_name: dict[str, list[Place]] = defaultdict(list)
    for place in places:
        name = street_of(place.address)
        if name:
            by_name[name.casefold()].append(place)
    found = (_line(street_of(group[0].address), group) for group in by_name.values())
    return _thinned([street for street in found if street])


def _thinned(streets: list[Street]) -> list[Street]:
    """Longest first, without those that run along one already drawn: Oxbow Rd and N Oxbow Rd."""
    kept: list[Street] = []
    for street in sorted(streets, key=lambda one: (-_length_m(one), one.name)):
        if not any(_runs_along(street, other) for other in kept):
            kept.append(street)
    return sorted(kept, key=lambda street: street.name)


def _metres(street: Street, lat: float, lon: float) -> tuple[float, float]:
    across = METRES_A_DEGREE * math.cos(math.radians(street.lat_1))
    return (lon - street.lon_1) * across, (lat - street.lat_1) * METRES_A_DEGREE


def _length_m(street: Street) -> float:
    return math.hypot(*_metres(street, street.lat_2, street.lon_2))


def _runs_along(street: Street, other: Street) -> bool:
    """Whether both ends of a street lie within 140 m of another's line."""
    x, y = _metres(other, other.lat_2, other.lon_2)
    length = math.hypot(x, y)
    ends = ((street.lat_1, street.lon_1), (street.lat_2, street.lon_2))
    for px, py in (_metres(other, lat, lon) for lat, lon in ends):
        along, off = (px * x + py * y) / length, abs(px * y - py * x) / length
        if off > _SAME_STREET_M or not -_SAME_END_M < along < length + _SAME_END_M:
            return False
    return True


def _line(name: str, places: list[Place]) -> Street | None:
    spots = {(place.lat, place.lon) for place in places}
    if len(spots) < _LEAST_PREMISES:
        return None
    lat_0 = sum(lat for lat, _ in spots) / len(spots)
    lon_0 = sum(lon for _, lon in spots) / len(spots)
    across = METRES_A_DEGREE * math.cos(math.radians(lat_0))
    metres = [((lon - lon_0) * across, (lat - lat_0) * METRES_A_DEGREE) for lat, lon in spots]
    xx = sum(x * x for x, _ in metres)
    yy = sum(y * y for _, y in metres)
    xy = sum(x * y for x, y in metres)
    angle = 0.5 * math.atan2(2 * xy, xx - yy)
    along = [x * math.cos(angle) + y * math.sin(angle) for x, y in metres]
    off = [y * math.cos(angle) - x * math.sin(angle) for x, y in metres]
    spread = math.sqrt(sum(value * value for value in off) / len(off))
    if max(along) - min(along) < _LEAST_LENGTH_M or spread > _MOST_SPREAD_M:
        return None

    def at(metres_along: float) -> tuple[float, float]:
        lat = lat_0 + metres_along * math.sin(angle) / METRES_A_DEGREE
        return lat, lon_0 + metres_along * math.cos(angle) / across

    (lat_1, lon_1), (lat_2, lon_2) = at(min(along) - 40), at(max(along) + 40)
    return Street(name=name, lat_1=lat_1, lon_1=lon_1, lat_2=lat_2, lon_2=lon_2)
