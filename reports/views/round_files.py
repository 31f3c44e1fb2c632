"""A round taken along: the day sheet as PDF, the way as GPX and GeoJSON."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from registry.access import visible_assemblies
from reports.domain.day_sheets import DaySheet
from reports.queries.day_sheets import day_sheet
from reports.queries.map_ground import ground_of
from reports.queries.round_pages import rounds_seen
from reports.rendering.day_sheets import render_day_sheet, sheet_projection
from reports.rounds.tracks import geojson_of, gpx_of
from scheduling.views.desk import Desk, Seat, at_desk

SEATS = (Seat.OFFICE, Seat.FIRM)


@require_GET
@at_desk(seats=SEATS)
def round_sheet(_request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The day sheet, its map on the ground that the round's page shows to the same person."""
    sheet = _sheet(desk, pk)
    on = sheet_projection(sheet)
    seen = visible_assemblies(desk.person).filter(program=desk.program)
    ground = ground_of(seen, extent=on.extent, zoom=on.zoom)
    pdf = render_day_sheet(sheet, ground=ground).pdf
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="round-{pk}.pdf"'
    return response


@require_GET
@at_desk(seats=SEATS)
def round_gpx(_request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The way as GPX."""
    response = HttpResponse(gpx_of(_sheet(desk, pk)), content_type="application/gpx+xml")
    response["Content-Disposition"] = f'attachment; filename="round-{pk}.gpx"'
    return response


@require_GET
@at_desk(seats=SEATS)
def round_geojson(_request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The way as GeoJSON."""
    response = HttpResponse(geojson_of(_sheet(desk, pk)), content_type="application/geo+json")
    response["Content-Disposition"] = f'attachment; filename="round-{pk}.geojson"'
    return response


def _sheet(desk: Desk, pk: int) -> DaySheet:
    one = rounds_seen(desk).select_related("tester", "firm", "plan__program").filter(pk=pk).first()
    if one is None:
        raise Http404("No such round.")
    return day_sheet(one)
