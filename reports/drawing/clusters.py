"""Pins close together become one, with the worst standing among them and how many they are."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

_TILE_PX: Final = 256.0
_CELL_PX: Final = 64.0
_TOO_CLOSE_PX: Final = 46.0
_BEFORE: Final = ((-1, -1), (-1, 0), (-1, 1), (0, -1))
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
    """Several premises close together: where their middle is, and the box that holds them."""

    lat: float
    lon: float
    gravity: int
    premises: int
    south: float
    west: float
    north: float
    east: float


def clustered(pins: Iterable[Pin], *, zoom: int) -> tuple[list[Pin], list[Cluster]]:
    """Split pins into those that stand alone and clusters, on a grid of 64 px at a zoom.

    The grid is fixed to the globe, so that the same pins give the same clusters wherever the
    map is moved. Premises at one and the same spot stay apart from the nearest zoom on.
    """
    if zoom >= NEAREST_ZOOM:
        return list(pins), []
    cells: dict[tuple[int, int], list[Pin]] = defaultdict(list)
    for pin in pins:
        cells[_cell(pin, zoom)].append(pin)
    groups = _joined(cells, zoom=zoom)
    alone = [group[0] for group in groups if len(group) == 1]
    together = [_cluster(group) for group in groups if len(group) > 1]
    return alone, together


def _joined(cells: dict[tuple[int, int], list[Pin]], *, zoom: int) -> list[list[Pin]]:
    """Cells whose middles would stand on top of each other become one, in the grid's order."""
    groups: dict[tuple[int, int], list[Pin]] = {}
    for cell in sorted(cells):
        here = _middle(cells[cell], zoom)
        near = [(cell[0] + dx, cell[1] + dy) for dx, dy in _BEFORE]
        close = next(
            (one for one in near if one in groups and _px(_middle(groups[one], zoom), here)), None
        )
        if close is None:
            groups[cell] = list(cells[cell])
        else:
            groups[close].extend(cells[cell])
    return list(groups.values())


def _px(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return math.hypot(a[0] - b[0], a[1] - b[1]) < _TOO_CLOSE_PX


def _middle(pins: list[Pin], zoom: int) -> tuple[float, float]:
    spots = [_spot(pin, zoom) for pin in pins]
    return sum(x for x, _ in spots) / len(spots), sum(y for _, y in spots) / len(spots)


def _cell(pin: Pin, zoom: int) -> tuple[int, int]:
    x, y = _spot(pin, zoom)
    return int(x // _CELL_PX), int(y // _CELL_PX)


def _spot(pin: Pin, zoom: int) -> tuple[float, float]:
    """A pin's place in px in the map's own projection (spherical Mercator)."""
    world = _TILE_PX * 2**zoom
    x = (pin.lon + 180) / 360 * world
    sine = min(max(math.sin(math.radians(pin.lat)), -0.9999), 0.9999)
    y = (0.5 - math.log((1 + sine) / (1 - sine)) / (4 * math.pi)) * world
    return x, y


def _cluster(group: list[Pin]) -> Cluster:
    return Cluster(
        lat=sum(pin.lat for pin in group) / len(group),
        lon=sum(pin.lon for pin in group) / len(group),
        gravity=min(pin.gravity for pin in group),
        premises=len(group),
        south=min(pin.lat for pin in group),
        west=min(pin.lon for pin in group),
        north=max(pin.lat for pin in group),
        east=max(pin.lon for pin in group),
    )
