"""A road map: crossings, the seconds between neighbours, and minutes between any places.

scipy finds the shortest times (Dijkstra); what was found from one crossing is kept, so that a day
changed by hand on the page does not look for the same ways again.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from threading import Lock
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from scheduling.domain.rounds.travel import EARTH_RADIUS_KM, Detour, TravelTable, straight_travel
from scheduling.domain.rounds.visits import Spot

Seconds = npt.NDArray[np.float64]

FARTHEST_KM = 1.0
"""A place farther than that from any road of the map is not on it: straight lines count there."""

LAST_PIECE = Detour(factor=1.3, kmh=15.0)
"""From the place to the nearest crossing: drives and parking, common practice."""

MOST_KEPT = 40_000_000
"""So many seconds are kept at most, four bytes each: 160 MB."""

AT_ONCE = 64
"""From so many crossings at once, so that a table of 2,000 places needs no gigabytes."""


@dataclass
class Lines:
    """Stretches between numbered points while a map is read: from, to, seconds."""

    origins: list[int] = field(default_factory=list)
    targets: list[int] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    def add(self, origin: int, target: int, seconds: float) -> None:
        """Add one direction of one stretch; never nought, which would mean no road."""
        self.origins.append(origin)
        self.targets.append(target)
        self.seconds.append(max(seconds, 0.01))


class Kept:
    """The seconds from crossings asked before to all others; the longest unused go first."""

    def __init__(self) -> None:
        """Keep nothing yet."""
        self._rows: OrderedDict[int, npt.NDArray[np.float32]] = OrderedDict()
        self._lock = Lock()

    def rows(self, graph: csr_matrix, nodes: npt.NDArray[np.int64]) -> npt.NDArray[np.float32]:
        """One row for each node, in order."""
        with self._lock:
            found = {int(node): self._rows[int(node)] for node in nodes if int(node) in self._rows}
        missing = [int(node) for node in nodes if int(node) not in found]
        for first in range(0, len(missing), AT_ONCE):
            some = missing[first : first + AT_ONCE]
            seconds = dijkstra(graph, indices=some).astype(np.float32)
            found.update(zip(some, seconds, strict=True))
        with self._lock:
            self._keep(found, width=graph.shape[0])
        return np.array([found[int(node)] for node in nodes])

    def _keep(self, found: dict[int, npt.NDArray[np.float32]], *, width: int) -> None:
        self._rows.update(found)
        for node in found:
            self._rows.move_to_end(node)
        while len(self._rows) > max(1, MOST_KEPT // width):
            self._rows.popitem(last=False)


@dataclass(frozen=True)
class RoadMap:
    """Crossings in degrees (WGS 84) and the seconds from each to its neighbours.

    `graph` is square and one way: row from, column to. Every crossing reaches every other.
    `detour` tells minutes where the map says nothing; `pace` multiplies what the map says, and is
    calibrated from past visits.
    """

    lat: Seconds
    lon: Seconds
    graph: csr_matrix
    attribution: str
    name: str = ""
    detour: Detour = field(default_factory=Detour)
    pace: float = 1.0
    kept: Kept = field(default_factory=Kept, compare=False)

    @property
    def factor(self) -> float:
        """How much longer roads are than the straight line, off the map."""
        return self.detour.factor

    @property
    def kmh(self) -> float:
        """How fast is driven off the map."""
        return self.detour.kmh

    def table(self, spots: Sequence[Spot]) -> TravelTable:
        """The minutes between all the spots by road; every begun minute counts whole.

        Pairs with a spot that is not on the map take the straight line instead, and `how` tells
        how many such spots there are.
        """
        straight = straight_travel(spots, detour=self.detour)
        near, last_piece = self._nearest(spots)
        on_map = np.flatnonzero(last_piece < np.inf)
        minutes = straight.minutes.copy()
        if on_map.size:
            seconds = self._between(near[on_map]) * self.pace
            seconds += last_piece[on_map][:, None] + last_piece[on_map][None, :]
            # Next door is walked: a road is never longer than the way straight across at a crawl.
            across = straight_travel([spots[int(i)] for i in on_map], detour=LAST_PIECE)
            whole = np.minimum(np.ceil(seconds / 60 - 1e-9).astype(np.int64), across.minutes)
            np.fill_diagonal(whole, 0)
            minutes[np.ix_(on_map, on_map)] = whole
        return TravelTable(minutes=minutes, how=_words(len(spots) - on_map.size))

    @cached_property
    def _tree(self) -> tuple[cKDTree, float]:
        middle = float(np.cos(np.radians(self.lat.mean())))
        return cKDTree(np.column_stack([self.lat, self.lon * middle])), middle

    def _nearest(self, spots: Sequence[Spot]) -> tuple[npt.NDArray[np.int64], Seconds]:
        """The crossing nearest each spot and the seconds to it; infinite where none is near."""
        tree, middle = self._tree
        asked = np.array([(spot.lat, spot.lon * middle) for spot in spots]).reshape(-1, 2)
        degrees, near = tree.query(asked)
        kilometres = np.radians(degrees) * EARTH_RADIUS_KM
        seconds = kilometres * LAST_PIECE.factor / LAST_PIECE.kmh * 3600
        return near.astype(np.int64), np.where(kilometres <= FARTHEST_KM, seconds, np.inf)

    def _between(self, near: npt.NDArray[np.int64]) -> Seconds:
        nodes, place = np.unique(near, return_inverse=True)
        rows = self.kept.rows(self.graph, nodes)
        found: Seconds = rows[:, nodes].astype(np.float64)[place][:, place]
        return found


def without_dead_ends(
    lines: Lines, *, where: dict[int, tuple[float, float]], attribution: str
) -> RoadMap:
    """The largest part of the map in which every crossing reaches every other.

    What is cut off (a private loop, a street whose only way in lies beyond the edge) would make
    places look as if nobody could drive there.
    """
    points = np.array(sorted(where), dtype=np.int64)
    origins = np.searchsorted(points, np.array(lines.origins, dtype=np.int64))
    targets = np.searchsorted(points, np.array(lines.targets, dtype=np.int64))
    graph = _quickest(origins, targets, np.array(lines.seconds), size=points.size)
    _count, part = connected_components(graph, directed=True, connection="strong")
    inside = np.flatnonzero(part == np.bincount(part).argmax())
    lat, lon = (np.array([where[int(point)][i] for point in points[inside]]) for i in (0, 1))
    return RoadMap(lat=lat, lon=lon, graph=graph[inside][:, inside], attribution=attribution)


def _quickest(origins: Any, targets: Any, seconds: Seconds, *, size: int) -> csr_matrix:
    """Of two stretches between the same crossings the quicker counts; scipy would add them."""
    order = np.lexsort((seconds, targets, origins))
    origins, targets, seconds = origins[order], targets[order], seconds[order]
    first = np.ones(order.size, dtype=bool)
    first[1:] = (np.diff(origins) != 0) | (np.diff(targets) != 0)
    return csr_matrix((seconds[first], (origins[first], targets[first])), shape=(size, size))


def _words(off_map: int) -> str:
    return "roads" if not off_map else f"roads; {off_map} off the map by straight line"
