"""Lines to draw under a map: streets by rank with their names, water, county lines.

Kept as arrays, all lines end to end, so that the part of a county that a page shows is found by
comparing boxes, and nothing is asked of a network.
"""

from __future__ import annotations

import os
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from scheduling.roads.map_file import BrokenMapError
from scheduling.roads.thinning import Points

KINDS: Final = ("water", "river", "shore", "county", "main", "road", "street", "lane")
"""What a line is, the coarsest first: `water` is an area, everything else a line."""

MOST_POINTS: Final = 12_000
"""So many points are drawn at most; lanes go first, then streets."""

_LAYOUT: Final = 1
_A_DEGREE: Final = 1_000_000


@dataclass(frozen=True, kw_only=True)
class DrawnLine:
    """One line or the edge of one area: latitude and longitude in degrees, and its name."""

    kind: str
    name: str = ""
    points: Points


@dataclass(frozen=True, kw_only=True)
class Extent:
    """A part of the earth, in degrees."""

    south: float
    west: float
    north: float
    east: float


@dataclass(frozen=True, kw_only=True)
class DrawnMap:
    """Lines in millionths of a degree; `ends` says where in `lat` and `lon` each one stops."""

    lat: npt.NDArray[np.int32]
    lon: npt.NDArray[np.int32]
    ends: npt.NDArray[np.int64]
    kinds: npt.NDArray[np.uint8]
    names: npt.NDArray[Any]
    words: npt.NDArray[Any]
    attribution: str

    def within(
        self, extent: Extent, *, kinds: Sequence[str] = KINDS, most: int = MOST_POINTS
    ) -> list[DrawnLine]:
        """The lines whose box touches the extent, whole; coarse ones before fine ones."""
        if not self.ends.size:
            return []
        starts, south, north, west, east = self._boxes
        touches = (
            (north >= extent.south * _A_DEGREE)
            & (south <= extent.north * _A_DEGREE)
            & (east >= extent.west * _A_DEGREE)
            & (west <= extent.east * _A_DEGREE)
        )
        wanted = [KINDS.index(kind) for kind in kinds]
        chosen = np.flatnonzero(touches & np.isin(self.kinds, wanted))
        chosen = chosen[np.argsort(self.kinds[chosen], kind="stable")]
        total = np.cumsum(self.ends[chosen] - starts[chosen])
        return [self._line(int(i), int(starts[i])) for i in chosen[total <= most]]

    @cached_property
    def _boxes(self) -> tuple[npt.NDArray[Any], ...]:
        """Where each line starts, and how far it reaches south, north, west and east."""
        starts = np.concatenate([[0], self.ends[:-1]])
        reach = [
            of.reduceat(values, starts)
            for values in (self.lat, self.lon)
            for of in (np.minimum, np.maximum)
        ]
        return (starts, *reach)

    def _line(self, number: int, start: int) -> DrawnLine:
        part = slice(start, int(self.ends[number]))
        lats, lons = self.lat[part] / _A_DEGREE, self.lon[part] / _A_DEGREE
        return DrawnLine(
            kind=KINDS[int(self.kinds[number])],
            name=str(self.words[int(self.names[number])]),
            points=tuple(zip(lats.tolist(), lons.tolist(), strict=True)),
        )


def drawn_map(lines: Iterable[DrawnLine], *, attribution: str) -> DrawnMap:
    """Lines as arrays; every name is kept once."""
    kept = [line for line in lines if len(line.points) > 1]
    words = sorted({line.name for line in kept} | {""})
    number = {word: index for index, word in enumerate(words)}
    points = [point for line in kept for point in line.points]
    degrees = np.array(points, dtype=float).reshape(-1, 2)
    whole = np.round(degrees * _A_DEGREE).astype(np.int32)
    return DrawnMap(
        lat=whole[:, 0],
        lon=whole[:, 1],
        ends=np.cumsum([len(line.points) for line in kept], dtype=np.int64),
        kinds=np.array([KINDS.index(line.kind) for line in kept], dtype=np.uint8),
        names=np.array([number[line.name] for line in kept], dtype=np.int32),
        words=np.array(words, dtype=np.str_),
        attribution=attribution,
    )


def beside(roads: Path) -> Path:
    """Where the lines of a road map are kept: roads.npz has roads.drawn.npz beside it."""
    return roads.with_suffix(f".drawn{roads.suffix}")


def save_drawn(drawn: DrawnMap, path: Path) -> None:
    """Keep the lines; a reader sees the old file or the new one, never half of one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{path.name}.{os.getpid()}")
    with aside.open("wb") as file:
        np.savez_compressed(
            file,
            layout=_LAYOUT,
            lat=np.diff(drawn.lat, prepend=np.int32(0)),
            lon=np.diff(drawn.lon, prepend=np.int32(0)),
            ends=drawn.ends,
            kinds=drawn.kinds,
            names=drawn.names,
            words=drawn.words,
            attribution=drawn.attribution,
        )
    aside.replace(path)


def drawn_at(path: Path) -> DrawnMap | None:
    """The lines kept in a file, read once for as long as it stays the same; None without one."""
    try:
        stamp = path.stat()
    except OSError:
        return None
    return _read_once(path, stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=4)
def _read_once(path: Path, _changed: int, _size: int) -> DrawnMap:
    try:
        with np.load(path, allow_pickle=False) as kept:
            if int(kept["layout"]) != _LAYOUT:
                raise BrokenMapError(f"{path.name} is of another edition: make it anew.")
            return DrawnMap(
                lat=np.cumsum(kept["lat"], dtype=np.int32),
                lon=np.cumsum(kept["lon"], dtype=np.int32),
                ends=kept["ends"],
                kinds=kept["kinds"],
                names=kept["names"],
                words=kept["words"],
                attribution=str(kept["attribution"]),
            )
    except (OSError, ValueError, KeyError, zipfile.BadZipFile) as fault:
        raise BrokenMapError(f"{path.name} holds no lines ({fault}): make it anew.") from fault
