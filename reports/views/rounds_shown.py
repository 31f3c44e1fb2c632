"""Rounds as pages show them: times in the program's zone, the strip of a day, the way drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from django.utils.safestring import SafeString, mark_safe

from registry.access import visible_assemblies
from reports.drawing.daystrip import day_strip
from reports.drawing.ground import Ground
from reports.drawing.projection import projection_of
from reports.drawing.route import RouteStop, route_map
from reports.models import Round, Stop, VisitTold
from reports.queries.map_ground import around, ground_of
from reports.queries.round_pages import Cell
from reports.rounds.needs import people_needed, shutdown_words
from scheduling.views.desk import Desk


@dataclass(frozen=True, kw_only=True)
class StopShown:
    """A stop with its times in the program's zone."""

    stop: Stop
    arrives: datetime
    leaves: datetime
    people: int = 1
    shutdown: tuple[str, ...] = ()
    told: VisitTold | None = None
    is_next: bool = False


@dataclass(frozen=True, kw_only=True)
class CellShown:
    """A cell of the board: strip and stops, empty where the tester has no round."""

    on: date
    round: Round | None
    strip: SafeString
    stops: list[StopShown]
    lunch: datetime | None = None

    @property
    def has_places(self) -> bool:
        """Whether any stop can be drawn on a map."""
        return any(one.stop.premises.lat is not None for one in self.stops)


def shown(stop: Stop, desk: Desk) -> StopShown:
    """A stop with its times."""
    return StopShown(
        stop=stop,
        arrives=stop.arrives_at.astimezone(desk.zone),
        leaves=stop.leaves_at.astimezone(desk.zone),
    )


def shown_whole(stop: Stop, desk: Desk) -> StopShown:
    """With what the visit needs: two people, whom to tell before the water goes off."""
    assemblies = [work.assembly for work in stop.work.all()]
    return replace(
        shown(stop, desk),
        people=people_needed(assemblies),
        shutdown=shutdown_words(stop.premises, assemblies),
    )


def cell_shown(cell: Cell, desk: Desk) -> CellShown:
    """A tester's day on the board."""
    stops = [shown(stop, desk) for stop in cell.stops]
    strip = mark_safe("")
    lunch = _lunch(cell.round, desk) if cell.round else None
    if cell.round and stops:
        drawn = day_strip(
            [(one.arrives, one.leaves) for one in stops],
            says=f"{len(stops)} stops, {stops[0].arrives:%H:%M} to {stops[-1].leaves:%H:%M}",
            lunch=lunch,
            promised=[one.arrives for one in stops if one.stop.promised_at],
        )
        strip = mark_safe(drawn)  # noqa: S308  (drawn by us from times)
    return CellShown(
        on=cell.on,
        round=cell.round,
        strip=strip,
        stops=stops,
        lunch=lunch[0] if lunch else None,
    )


def _lunch(one: Round, desk: Desk) -> tuple[datetime, datetime] | None:
    if one.lunch_from is None or one.lunch_to is None:
        return None
    return one.lunch_from.astimezone(desk.zone), one.lunch_to.astimezone(desk.zone)


def route_drawn(
    one: Round,
    stops: list[StopShown],
    desk: Desk,
    *,
    wide: tuple[float, float] = (1176.0, 560.0),
) -> tuple[list[SafeString], Ground]:
    """The way of a day for a desk and for a phone, and the ground under both. One query."""
    placed = [
        RouteStop(
            number=number,
            lat=float(each.stop.premises.lat),
            lon=float(each.stop.premises.lon),
            words=f"{each.arrives.hour % 12 or 12}:{each.arrives:%M} {each.stop.premises}"[:44],
            key=str(each.stop.pk),
        )
        for number, each in enumerate(stops, start=1)
        if each.stop.premises.lat is not None and each.stop.premises.lon is not None
    ]
    depot = (float(one.depot_lat), float(one.depot_lon))
    spots = [depot, *((stop.lat, stop.lon) for stop in placed)]
    sheets = [
        projection_of(spots, width=width, height=height) for width, height in (wide, (358.0, 380.0))
    ]
    seen = visible_assemblies(desk.person).filter(program=desk.program)
    extent = around(*(sheet.extent for sheet in sheets))
    ground = ground_of(seen, extent=extent, zoom=max(sheet.zoom for sheet in sheets))
    says = f"The route of {len(stops)} stops in the order driven; the list holds each."
    drawn = [
        route_map(placed, depot=depot, ground=ground, projection=sheet, says=says)
        for sheet in sheets
    ]
    return [mark_safe(markup) for markup in drawn], ground  # noqa: S308  (drawn by us)
