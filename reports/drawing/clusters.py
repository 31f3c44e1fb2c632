"""Pins close together become one, with the worst standing among them and how many they are."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

_TILE_PX: Final = 256.0
_CELL_PX: Final = 56.0
NEAREST_ZOOM: Final = 17
"""From this zoom on every premises stands alone."""


@dataclass(frozen=True, kw_only=True)
class Pin:
    """One premises on the map by its worst assembly; `gravity` 0 is the worst there is."""

    id: int
    lat: float
    lon: float
    gravity: int
    assemblies: int
    words: str


@dataclass(frozen=True, kw_only=True)
class Cluster:
    """Several premises close together."""

    lat: float
    lon: float
    gravity: int
    premises: int


def clustered(pins: Iterable[Pin], *, zoom: int) -> tuple[list[Pin], list[Cluster]]:
    """Split pins into those that stand alone and clusters, on a grid of 56 px at a zoom.

    The grid is fixed to the globe, so that the same pins give the same clusters wherever the
    map is moved. Premises at one and the same spot stay apart from the nearest zoom on.
    """
    if zoom >= NEAREST_ZOOM:
        return list(pins), []
    cells: dict[tuple[int, int], list[Pin]] = defaultdict(list)
    for pin in pins:
        cells[_cell(pin, zoom)].append(pin)
    alone = [group[0] for group in cells.values() if len(group) == 1]
    together = [_cluster(group) for group in cells.values() if len(group) > 1]
    return alone, together


def _cell(pin: Pin, zoom: int) -> tuple[int, int]:
    """The grid cell in the map's own projection (spherical Mercator)."""
    world = _TILE_PX * 2**zoom
    x = (pin.lon + 180) / 360 * world
    sine = min(max(math.sin(math.radians(pin.lat)), -0.9999), 0.9999)
    y = (0.5 - math.log((1 + sine) / (1 - sine)) / (4 * math.pi)) * world
    return int(x // _CELL_PX), int(y // _CELL_PX)


def _cluster(group: list[Pin]) -> Cluster:
    return Cluster(
        lat=sum(pin.lat for pin in group) / len(group),
        lon=sum(pin.lon for pin in group) / len(group),
        gravity=min(pin.gravity for pin in group),
        premises=len(group),
    )
