"""What a map's ground is made of: the office's extract where it reaches, else the addresses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.db.models import QuerySet

from registry.models import Assembly
from reports.drawing.ground import Ground
from reports.drawing.projection import MILE_M
from reports.drawing.streets import METRES_A_DEGREE, Place, Street, streets_of
from scheduling.roads.drawn import DrawnLine, DrawnMap, Extent, beside, drawn_at
from scheduling.roads.map_file import BrokenMapError
from scheduling.roads.thinning import thinned

MOST_ADDRESSES: Final = 20_000
STREETS: Final = frozenset({"main", "road", "street", "lane"})
FROM_ADDRESSES: Final = "Light lines are streets as the addresses on record draw them"

_COUNTIES: Final = Path(settings.BASE_DIR) / "fixtures" / "places" / "us-counties.npz"
_COUNTY_MILES: Final = 10.0
"""County lines are drawn for the whole country: on less than that they would mislead."""


def ground_of(assemblies: QuerySet[Assembly], *, extent: Extent, zoom: int) -> Ground:
    """The ground of a part of the earth, for who may see these assemblies. One query at most."""
    ground = ground_on_file(extent=extent, zoom=zoom)
    if ground.has_extract:
        return ground
    drawn = tuple(as_line(street) for street in drawn_streets(assemblies, extent=extent))
    said = (FROM_ADDRESSES,) if drawn else ()
    return replace(ground, lines=(*ground.lines, *drawn), said=(*ground.said, *said))


def ground_on_file(*, extent: Extent, zoom: int) -> Ground:
    """Streets and water of the extract, county lines; no query."""
    found: list[DrawnLine] = []
    said: list[str] = []
    counties = _kept(_COUNTIES)
    if counties is not None and _miles_across(extent) >= _COUNTY_MILES:
        lines = counties.within(extent)
        found += lines
        said += [counties.attribution] if lines else []
    extract = _kept(beside(Path(settings.ROADS)))
    lines = [] if extract is None else extract.within(extent, kinds=kinds_at(zoom))
    if extract is not None and lines:
        metres = 0.7 * 156_543.0 / 2**zoom
        found += [replace(one, points=thinned(one.points, metres=metres)) for one in lines]
        said.append(f"Streets and water {extract.attribution}")
    has_streets = any(line.kind in STREETS for line in lines)
    return Ground(lines=tuple(found), said=tuple(said), has_extract=has_streets)


def kinds_at(zoom: int) -> tuple[str, ...]:
    """What is worth drawing: small streets only where they do not run into each other."""
    kinds = ["water", "shore", "main"]
    kinds += ["river", "road"] if zoom >= 10 else []
    kinds += ["street"] if zoom >= 12 else []
    kinds += ["lane"] if zoom >= 16 else []
    return tuple(kinds)


def drawn_streets(assemblies: QuerySet[Assembly], *, extent: Extent | None = None) -> list[Street]:
    """Streets drawn from the addresses of premises a person may see."""
    placed = assemblies.filter(premises__lat__isnull=False, premises__lon__isnull=False)
    if extent is not None:
        placed = placed.filter(
            premises__lat__range=(extent.south, extent.north),
            premises__lon__range=(extent.west, extent.east),
        )
    rows: QuerySet[Any, Any] = (
        placed.order_by()
        .values_list("premises__address", "premises__lat", "premises__lon")
        .distinct()[:MOST_ADDRESSES]
    )
    return streets_of(
        Place(address=address, lat=float(lat), lon=float(lon)) for address, lat, lon in rows
    )


def as_line(street: Street) -> DrawnLine:
    """A street from addresses as a line like those of an extract."""
    ends = ((street.lat_1, street.lon_1), (street.lat_2, street.lon_2))
    return DrawnLine(kind="street", name=street.name, points=ends)


def around(*extents: Extent) -> Extent:
    """The part of the earth that holds them all."""
    return Extent(
        south=min(one.south for one in extents),
        west=min(one.west for one in extents),
        north=max(one.north for one in extents),
        east=max(one.east for one in extents),
    )


def _miles_across(extent: Extent) -> float:
    return (extent.north - extent.south) * METRES_A_DEGREE / MILE_M


def _kept(path: Path) -> DrawnMap | None:
    """A ground that cannot be read is no reason to show no page."""
    try:
        return drawn_at(path)
    except BrokenMapError:
        return None
