"""County lines from a published atlas, for the ground of a map without any extract.

`python -m scheduling.roads.outlines counties-10m.json fixtures/places/us-counties.npz` makes the
kept file from the topology of us-atlas (see fixtures/places/SOURCES.md).
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from scheduling.roads.drawn import DrawnLine, DrawnMap, drawn_map, save_drawn

ATTRIBUTION: Final = "County lines: U.S. Census Bureau, 2017, public domain"


def outlines_of(topology: Mapping[str, Any]) -> DrawnMap:
    """The arcs of a topology in degrees: each is a stretch of line between two counties.

    Source of the form: the TopoJSON format specification 1.0, sections 2.1.2 and 2.1.4: the first
    point of an arc is whole, each further one the difference from the one before, and the
    transform scales and moves them.
    """
    (x_step, y_step), (x_0, y_0) = (topology["transform"][key] for key in ("scale", "translate"))
    lines = []
    for arc in topology["arcs"]:
        x = y = 0
        points = []
        for dx, dy, *_more in arc:
            x, y = x + dx, y + dy
            points.append((y * y_step + y_0, x * x_step + x_0))
        lines.append(DrawnLine(kind="county", points=tuple(points)))
    return drawn_map(lines, attribution=ATTRIBUTION)


if __name__ == "__main__":
    source, kept = (Path(argument) for argument in sys.argv[1:3])
    save_drawn(outlines_of(json.loads(source.read_text(encoding="utf-8"))), kept)
