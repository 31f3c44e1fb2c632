"""Which ways a van may drive, in which direction, and how fast: tags in, speeds out.

The tags are those of the OpenStreetMap wiki, "Key:highway", "Key:oneway", "Key:access" and
"Key:maxspeed". The speeds of ways without a limit on record are common practice, not published.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

KMH = {
    "motorway": 100.0,
    "motorway_link": 55.0,
    "trunk": 80.0,
    "trunk_link": 45.0,
    "primary": 60.0,
    "primary_link": 40.0,
    "secondary": 50.0,
    "secondary_link": 40.0,
    "tertiary": 45.0,
    "tertiary_link": 35.0,
    "unclassified": 40.0,
    "residential": 30.0,
    "living_street": 10.0,
    "service": 15.0,
    "road": 30.0,
}
"""Speeds where no limit is on record, in kilometres an hour: common practice."""

SHARE_OF_LIMIT = 0.8
"""What is driven of a posted limit, with turns, lights and traffic: common practice."""

KMH_PER_MPH = 1.609344
"""Exact: the international mile of 1959."""

_CLOSED = frozenset({"no", "private", "agricultural", "forestry", "military"})
_FORWARD = frozenset({"yes", "true", "1"})
_BACKWARD = frozenset({"-1", "reverse"})
_LIMIT = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(mph|km/h|kmh|kph)?\s*$")


@dataclass(frozen=True, slots=True)
class Driving:
    """How fast a way is driven, and whether along it, against it, or both."""

    kmh: float
    along: bool = True
    against: bool = True


def driving_of(tags: Mapping[str, str]) -> Driving | None:
    """How a way with these tags is driven; None where a van may not.

    A residential street with ``maxspeed=25 mph`` and ``oneway=yes``: 0.8 × 40.2 = 32.2 km/h, along
    it only.
    """
    kind = tags.get("highway", "")
    if kind not in KMH or tags.get("area") == "yes" or _is_closed(tags):
        return None
    limit = limit_kmh(tags.get("maxspeed", ""))
    kmh = KMH[kind] if limit is None else limit * SHARE_OF_LIMIT
    one_way = tags.get("oneway", "")
    if not one_way and (kind == "motorway" or tags.get("junction") in {"roundabout", "circular"}):
        one_way = "yes"
    if one_way in _FORWARD:
        return Driving(kmh, against=False)
    if one_way in _BACKWARD:
        return Driving(kmh, along=False)
    return Driving(kmh)


def limit_kmh(text: str) -> float | None:
    """A posted limit in kilometres an hour; None for what is no figure ("walk", "signals")."""
    found = _LIMIT.match(text)
    if found is None:
        return None
    figure = float(found[1]) * (KMH_PER_MPH if found[2] == "mph" else 1)
    return figure if figure >= 5 else None


def _is_closed(tags: Mapping[str, str]) -> bool:
    """The most exact of the access tags decides; a customer's own drive may be driven."""
    for key in ("motor_vehicle", "vehicle", "access"):
        if key in tags:
            return tags[key] in _CLOSED
    return False
