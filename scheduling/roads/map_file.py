"""A road map as a file: arrays by name, no code in it, written whole or not at all."""

from __future__ import annotations

import os
import zipfile
from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix

from scheduling.roads.network import RoadMap

LAYOUT = 1


class BrokenMapError(Exception):
    """A kept road map that cannot be read; the message says which and what to do."""


def save(roads: RoadMap, path: Path) -> None:
    """Keep the map; a reader sees the old one or the new one, never half of one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    with beside.open("wb") as file:
        np.savez_compressed(
            file,
            layout=LAYOUT,
            lat=roads.lat,
            lon=roads.lon,
            seconds=roads.graph.data,
            targets=roads.graph.indices,
            starts=roads.graph.indptr,
            attribution=roads.attribution,
            name=roads.name,
        )
    beside.replace(path)


def load(path: Path) -> RoadMap:
    """The map kept in a file; raises BrokenMapError, never reads code from it."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            if int(kept["layout"]) != LAYOUT:
                raise BrokenMapError(f"{path.name} is of another edition: make it anew.")
            size = kept["lat"].size
            graph = csr_matrix((kept["seconds"], kept["targets"], kept["starts"]), (size, size))
            return RoadMap(
                lat=kept["lat"],
                lon=kept["lon"],
                graph=graph,
                attribution=str(kept["attribution"]),
                name=str(kept["name"]),
            )
    except (OSError, ValueError, KeyError, zipfile.BadZipFile) as fault:
        raise BrokenMapError(f"{path.name} is no road map ({fault}): make it anew.") from fault


def installed(path: Path) -> RoadMap | None:
    """The map at a path, read once for as long as the file stays the same; None without one."""
    try:
        stamp = path.stat()
    except OSError:
        return None
    return _read_once(path, stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=2)
def _read_once(path: Path, _changed: int, _size: int) -> RoadMap:
    return load(path)
