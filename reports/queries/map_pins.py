"""What the map shows: one pin per premises by its worst assembly."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import Count, Min, QuerySet

from registry.models import Assembly
from reports.drawing.clusters import Pin
from reports.queries.where_they_stand import gravity_case

MOST_PINS: Final = 20_000


@dataclass(frozen=True, kw_only=True)
class Box:
    """The part of the earth the map shows, in degrees."""

    south: float
    west: float
    north: float
    east: float


def pins_of(found: QuerySet[Assembly], *, day: date, box: Box | None = None) -> list[Pin]:
    """One pin per premises with coordinates, gravest first; at most 20,000."""
    rows: QuerySet[Any, Any] = (
        Assembly.objects.filter(
            pk__in=found.order_by().values("pk"),
            premises__lat__isnull=False,
            premises__lon__isnull=False,
        )
        .annotate(one_gravity=gravity_case(day=day))
        .values(
            "premises_id", "premises__lat", "premises__lon", "premises__name", "premises__address"
        )
        .annotate(worst=Min("one_gravity"), assemblies=Count("pk"))
        .order_by("worst", "premises_id")
    )
    if box:
        rows = rows.filter(
            premises__lat__range=(box.south, box.north), premises__lon__range=(box.west, box.east)
        )
    return [
        Pin(
            id=row["premises_id"],
            lat=float(row["premises__lat"]),
            lon=float(row["premises__lon"]),
            gravity=row["worst"],
            assemblies=row["assemblies"],
            words=row["premises__name"] or row["premises__address"],
        )
        for row in rows[:MOST_PINS]
    ]
