"""An extract of open street data becomes lines to draw: streets with names, and water.

The tags are those of the OpenStreetMap wiki, "Key:highway", "Key:natural" and "Key:waterway".
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from scheduling.roads.drawn import DrawnLine, DrawnMap, drawn_map
from scheduling.roads.reading import ATTRIBUTION, UnreadableRoadsError, osmium_package
from scheduling.roads.thinning import Points, joined, thinned

BENDS_M: Final = 4.0
"""A bend of less than so many metres is not drawn."""

_STREETS: Final = {
    **dict.fromkeys(("motorway", "trunk", "motorway_link", "trunk_link"), "main"),
    **dict.fromkeys(("primary", "secondary", "primary_link", "secondary_link"), "road"),
    **dict.fromkeys(("tertiary", "tertiary_link", "unclassified", "residential"), "street"),
    **dict.fromkeys(("living_street", "pedestrian", "road"), "street"),
    "service": "lane",
}
_RIVERS: Final = frozenset({"river", "canal", "stream"})


def kind_of(tags: Mapping[str, str]) -> str:
    """What a way is drawn as; empty for what is not drawn: paths, drains, buildings."""
    if tags.get("natural") == "coastline":
        return "shore"
    if tags.get("waterway") in _RIVERS and tags.get("tunnel") in {None, "no"}:
        return "river"
    if tags.get("area") == "yes" or tags.get("service") in {"parking_aisle", "driveway"}:
        return ""
    return _STREETS.get(tags.get("highway", ""), "")


def is_water(tags: Mapping[str, str]) -> bool:
    """Whether an area is water: a lake, a reservoir, the bed of a river."""
    return tags.get("natural") == "water" or tags.get("waterway") == "riverbank"


def read_drawn(path: Path) -> DrawnMap:
    """The lines of an extract, as :func:`read_roads` reads its roads; raises the same error."""
    osmium = osmium_package()
    pieces: dict[tuple[str, str], list[Points]] = defaultdict(list)
    try:
        for kind, name, points in _found(path, osmium=osmium):
            if len(points) > 1:
                pieces[kind, name].append(points)
    except (RuntimeError, OSError, ValueError) as fault:
        raise UnreadableRoadsError(
            f"The streets of {path.name} cannot be drawn ({fault})."
        ) from fault
    lines = [
        DrawnLine(kind=kind, name=name, points=thinned(points, metres=BENDS_M))
        for (kind, name), parts in sorted(pieces.items())
        for points in (parts if kind == "water" else joined(parts))
    ]
    return drawn_map(lines, attribution=ATTRIBUTION)


def _found(path: Path, *, osmium: Any) -> Iterator[tuple[str, str, Points]]:
    """Each way and each outer edge of water; a point beyond the extract's edge is dropped."""
    keys = osmium.filter.KeyFilter("highway", "natural", "waterway")
    water = osmium.filter.KeyFilter("natural", "waterway")
    for one in osmium.FileProcessor(str(path)).with_areas(water).with_filter(keys):
        tags = {tag.k: tag.v for tag in one.tags}
        if one.is_way():
            kind = kind_of(tags)
            if kind:
                yield kind, tags.get("name", ""), _points(one.nodes)
        elif one.is_area() and is_water(tags):
            for ring in one.outer_rings():
                yield "water", tags.get("name", ""), _points(ring)


def _points(nodes: Any) -> Points:
    return tuple((one.lat, one.lon) for one in nodes if one.location.valid())
