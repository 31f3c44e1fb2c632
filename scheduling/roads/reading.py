"""An extract of open street data becomes a road map: crossings, and the seconds between them.

Only this module knows osmium. The extract is read twice: once for which points are crossings, once
for the stretches between them, so that points between crossings cost nothing later.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from scheduling.domain.rounds.travel import EARTH_RADIUS_KM
from scheduling.roads.driving import Driving, driving_of
from scheduling.roads.network import Lines, RoadMap, without_dead_ends

TOLD_EVERY = 1000

Point = tuple[int, float, float]
"""A point's number and its place in degrees."""

ATTRIBUTION = "© OpenStreetMap contributors, Open Database License"


class UnreadableRoadsError(Exception):
    """No road map came of a file; the message is a sentence that says why and what to do."""


def read_roads(path: Path, *, tell: Callable[[int, int], None] | None = None) -> RoadMap:
    """The road map of an ``.osm.pbf``, ``.osm.bz2`` or ``.osm`` file.

    `tell` hears how many ways were read, and of how many. Raises UnreadableRoadsError for a file
    that is no such extract, or holds no road that a van can drive there and back.
    """
    osmium = osmium_package()
    try:
        crossings, ways = _crossings(path, osmium=osmium)
        lines = Lines()
        where: dict[int, tuple[float, float]] = {}
        for number, (points, driving) in enumerate(_courses(path, osmium=osmium), start=1):
            _add(points, driving=driving, crossings=crossings, lines=lines, where=where)
            if tell is not None and number % TOLD_EVERY == 0:
                tell(number, ways)
    except (RuntimeError, OSError, ValueError) as fault:
        raise UnreadableRoadsError(
            f"{path.name} cannot be read as an extract of street data ({fault}). "
            "Give a file .osm.pbf, .osm.bz2 or .osm."
        ) from fault
    if not lines.seconds:
        raise UnreadableRoadsError(f"{path.name} holds no road that a van may drive.")
    return without_dead_ends(lines, where=where, attribution=ATTRIBUTION)


def osmium_package() -> Any:
    """The package that reads extracts; raises UnreadableRoadsError where it is not installed."""
    # The package is an extra: plans need it no more once the map is read.
    try:
        return import_module("osmium")
    except ImportError as missing:
        raise UnreadableRoadsError(
            "Reading street data needs the package osmium: install Waterclerk with its extra roads."
        ) from missing


def _ways(path: Path, *, osmium: Any, with_places: bool) -> Iterator[tuple[Any, Driving]]:
    ways = osmium.FileProcessor(str(path))
    if with_places:
        ways = ways.with_locations()
    for way in ways.with_filter(osmium.filter.KeyFilter("highway")):
        if way.is_way():
            driving = driving_of({tag.k: tag.v for tag in way.tags})
            if driving is not None:
                yield way, driving


def _crossings(path: Path, *, osmium: Any) -> tuple[frozenset[int], int]:
    """The points where a way begins, ends or meets another; and how many ways there are."""
    uses: Counter[int] = Counter()
    ways = 0
    for way, _driving in _ways(path, osmium=osmium, with_places=False):
        points = [node.ref for node in way.nodes]
        uses.update(points)
        uses.update(points[:1] + points[-1:])
        ways += 1
    return frozenset(point for point, times in uses.items() if times > 1), ways


def _courses(path: Path, *, osmium: Any) -> Iterator[tuple[list[Point], Driving]]:
    """Each way as its points with their places; a point beyond the edge has none and is dropped."""
    for way, driving in _ways(path, osmium=osmium, with_places=True):
        yield [(one.ref, one.lat, one.lon) for one in way.nodes if one.location.valid()], driving


def _add(
    points: list[Point],
    *,
    driving: Driving,
    crossings: frozenset[int],
    lines: Lines,
    where: dict[int, tuple[float, float]],
) -> None:
    if len(points) < 2:
        return
    lengths = _kilometres(points)
    last, run = points[0][0], 0.0
    where[last] = points[0][1:]
    for index, (point, lat, lon) in enumerate(points[1:]):
        run += float(lengths[index])
        if point not in crossings and index < len(points) - 2:
            continue
        where[point] = (lat, lon)
        seconds = run / driving.kmh * 3600
        if driving.along:
            lines.add(last, point, seconds)
        if driving.against:
            lines.add(point, last, seconds)
        last, run = point, 0.0


def _kilometres(points: list[Point]) -> Any:
    """The length of each piece: on pieces of street a flat plane is exact enough."""
    lat = np.radians([point[1] for point in points])
    lon = np.radians([point[2] for point in points])
    across = np.diff(lon) * np.cos((lat[1:] + lat[:-1]) / 2)
    return np.hypot(np.diff(lat), across) * EARTH_RADIUS_KM
