"""Lines with fewer points: those that bend by less than a few metres go, pieces are joined."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from typing import Final

Points = tuple[tuple[float, float], ...]
"""Latitude and longitude in degrees, in order."""

METRES_A_DEGREE: Final = 111_320.0


def thinned(points: Points, *, metres: float) -> Points:
    """The line without the points that lie within so many metres of it (Douglas and Peucker)."""
    if len(points) < 3:
        return points
    across = METRES_A_DEGREE * math.cos(math.radians(points[0][0]))
    flat = [(lon * across, lat * METRES_A_DEGREE) for lat, lon in points]
    kept = {0, len(points) - 1}
    parts = [(0, len(points) - 1)]
    while parts:
        first, last = parts.pop()
        off, farthest = max(
            ((_off(flat[i], flat[first], flat[last]), i) for i in range(first + 1, last)),
            default=(0.0, first),
        )
        if off > metres:
            kept.add(farthest)
            parts += [(first, farthest), (farthest, last)]
    return tuple(points[i] for i in sorted(kept))


def _off(point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> float:
    """How far a point lies from a stretch, not from the endless line."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = dx * dx + dy * dy
    px, py = point[0] - start[0], point[1] - start[1]
    share = 0.0 if length == 0 else min(max((px * dx + py * dy) / length, 0.0), 1.0)
    return math.hypot(px - share * dx, py - share * dy)


def joined(lines: Iterable[Points]) -> list[Points]:
    """Pieces that meet end to end as one, where exactly two meet; whichever way they run."""
    pieces = dict(enumerate(lines))
    at: dict[tuple[float, float], list[int]] = defaultdict(list)
    for number, points in pieces.items():
        at[points[0]].append(number)
        at[points[-1]].append(number)
    for spot, meeting in at.items():
        if len(meeting) != 2 or meeting[0] == meeting[1]:
            continue
        one, other = meeting
        a, b = pieces[one], pieces.pop(other)
        a = a if a[-1] == spot else a[::-1]
        b = b if b[0] == spot else b[::-1]
        pieces[one] = a + b[1:]
        far = at[b[-1]]
        far[far.index(other)] = one
    return list(pieces.values())
