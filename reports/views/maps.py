"""Maps: the rows of the registry as pins, the ground under them, and both as a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from reports.drawing.clusters import NEAREST_ZOOM, Pin, clustered
from reports.drawing.ground import Ground
from reports.drawing.pins import premises_map
from reports.drawing.projection import Projection, projection_of
from reports.queries.map_ground import around, as_line, drawn_streets, ground_of, ground_on_file
from reports.queries.map_pins import Box, pins_of
from reports.queries.registry_list import wanted_assemblies
from reports.queries.where_they_stand import GRAVITY
from reports.views.registry import asked_of, map_key, seen_assemblies, wanted_from
from scheduling.roads.drawn import DrawnLine, Extent
from scheduling.views.desk import EVERY_SEAT, Desk, at_desk


@require_GET
@at_desk(seats=EVERY_SEAT)
def registry_map(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The same rows as pins and clusters for a zoom; with `base=1` also their extent."""
    found = wanted_assemblies(
        seen_assemblies(desk), wanted=wanted_from(request.GET), day=desk.today
    )
    pins = pins_of(found, day=desk.today, box=_box(request.GET))
    alone, together = clustered(pins, zoom=_zoom(request.GET))
    answer: dict[str, object] = {
        "pins": [
            {
                "id": pin.id,
                "lat": pin.lat,
                "lon": pin.lon,
                "standing": GRAVITY[pin.gravity].value,
                "words": pin.words,
                "assemblies": pin.assemblies,
                "href": reverse("premises", args=[desk.program.code, pin.id]),
            }
            for pin in alone
        ],
        "clusters": [
            {
                "lat": one.lat,
                "lon": one.lon,
                "standing": GRAVITY[one.gravity].value,
                "premises": one.premises,
                "holds": [[one.south, one.west], [one.north, one.east]],
            }
            for one in together
        ],
    }
    if request.GET.get("base") and pins:
        answer["extent"] = extent_of([(pin.lat, pin.lon) for pin in pins])
    return JsonResponse(answer)


@require_GET
@at_desk(seats=EVERY_SEAT)
def map_ground(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What lies under the pins of a box; with `base=1` also the streets from all addresses."""
    box = _box(request.GET)
    if box is None:
        return JsonResponse({"lines": [], "said": []})
    extent = Extent(south=box.south, west=box.west, north=box.north, east=box.east)
    ground = ground_on_file(extent=extent, zoom=_zoom(request.GET))
    answer: dict[str, object] = {
        "lines": [_line(one) for one in ground.lines],
        "said": list(ground.said),
        "extract": ground.has_extract,
    }
    if request.GET.get("base") and not ground.has_extract:
        drawn = drawn_streets(seen_assemblies(desk))
        answer["from_addresses"] = [_line(as_line(street)) for street in drawn]
    reply = JsonResponse(answer)
    reply["Cache-Control"] = "private, max-age=300"
    return reply


@require_GET
@at_desk(seats=EVERY_SEAT)
def map_page(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The map as a drawing on a page of its own: for paper, and where scripts are off."""
    wanted = wanted_from(request.GET)
    seen = seen_assemblies(desk)
    pins = pins_of(wanted_assemblies(seen, wanted=wanted, day=desk.today), day=desk.today)
    query = urlencode(asked_of(wanted))
    context: dict[str, object] = {
        "desk": desk,
        "premises": len(pins),
        "query": query,
        "key": map_key(),
    }
    if pins:
        (south, west), (north, east) = extent_of([(pin.lat, pin.lon) for pin in pins])
        corners = [(south, west), (north, east)]
        sheets = [
            projection_of(corners, width=width, height=height, pad=30)
            for width, height in ((1176.0, 720.0), (358.0, 420.0))
        ]
        extent = around(*(sheet.extent for sheet in sheets))
        ground = ground_of(seen, extent=extent, zoom=max(sheet.zoom for sheet in sheets))
        context["drawn"] = [_drawn(pins, ground, sheet) for sheet in sheets]
        context["said"] = ground.said
    return render(request, "reports/map.html", context)


def _drawn(pins: Sequence[Pin], ground: Ground, projection: Projection) -> SafeString:
    zoom = min(projection.zoom, NEAREST_ZOOM)
    extent = projection.extent
    shown = [
        pin
        for pin in pins
        if extent.south <= pin.lat <= extent.north and extent.west <= pin.lon <= extent.east
    ]
    alone, together = clustered(shown, zoom=zoom)
    drawn = premises_map(
        alone,
        together,
        words=[one.value for one in GRAVITY],
        sprite=static("waterclerk/marks.svg"),
        ground=ground,
        projection=projection,
        says=f"{len(shown):,} premises by their gravest standing; the registry lists them.",
    )
    return mark_safe(drawn)  # noqa: S308  (drawn by us; every text escaped on the way in)


def _line(line: DrawnLine) -> list[object]:
    """Kind, name, and the points as one flat row of latitudes and longitudes."""
    flat = [round(value, 5) for point in line.points for value in point]
    return [line.kind, line.name, flat]


def extent_of(spots: list[tuple[float, float]]) -> list[list[float]]:
    """South-west and north-east, without the outermost hundredth on each side.

    One premises with mistyped coordinates must not shrink the town to a dot.
    """
    skip = len(spots) // 100
    lats = sorted(lat for lat, _ in spots)
    lons = sorted(lon for _, lon in spots)
    last = len(spots) - 1 - skip
    return [[lats[skip], lons[skip]], [lats[last], lons[last]]]


def _box(query: QueryDict) -> Box | None:
    try:
        south, west, north, east = (float(str(query[name])) for name in ("s", "w", "n", "e"))
    except (KeyError, ValueError):
        return None
    if not (-90 <= south <= north <= 90 and -720 <= west <= east <= 720):
        return None
    return Box(south=south, west=west, north=north, east=east)


def _zoom(query: QueryDict) -> int:
    text = query.get("z", "13")
    return min(int(text), 22) if text.isascii() and text.isdigit() and len(text) < 3 else 13
