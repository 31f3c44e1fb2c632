"""Premises assigned to a testing company: by list, by area, by a file."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_http_methods, require_POST

from registry.access import Verb, visible_assemblies
from registry.actions.assignments import assign_premises, take_back
from registry.domain.assigned import HowAssigned
from registry.source_files import LoadRefusedError, SourceFile
from reports.actions.assigning_file import FileAssigned, assign_by_file
from reports.domain.map_areas import AreaError, DrawnArea, area_in
from reports.domain.map_squares import ACROSS, COLUMNS, DOWN
from reports.drawing.ground import Ground
from reports.drawing.projection import projection_of
from reports.drawing.squares import squares_map
from reports.queries.assigning import (
    Area,
    Assignable,
    assignable,
    assignable_pks,
    firms_to_choose,
    words_of_list,
)
from reports.queries.map_ground import around, ground_of
from scheduling.views.desk import Desk, at_desk
from scheduling.views.uploads import chosen_file


def area_from(query: QueryDict) -> Area:
    """The area as an address holds it; an area drawn that is none counts as not drawn."""
    try:
        drawn = _drawn_area(query)
    except AreaError:
        drawn = None
    return Area(
        drawn=drawn,
        zips=words_of_list(query.get("zips", "")[:1000]),
        streets=words_of_list(query.get("streets", "")[:1000]),
        squares=tuple(name[:2] for name in query.getlist("square")[:24]),
        only_free=query.get("free", "") == "yes",
    )


def _drawn_area(query: QueryDict) -> DrawnArea | None:
    return area_in(query.get("area", "")[:8000])


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.PLAN)
def round_assign(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list of an area; what is ticked is assigned, or taken back."""
    if request.method == "POST":
        return _act(request, desk)
    try:
        _drawn_area(request.GET)
    except AreaError as error:
        return _page(request, desk, fault=str(error), status=422)
    return _page(request, desk)


@require_POST
@at_desk(verb=Verb.PLAN)
def round_assign_file(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Assign what a file says: a column for the account, one for the company."""
    chosen, fault = chosen_file(request)
    if chosen is None:
        return _page(request, desk, fault=fault, status=422)
    source = SourceFile(name=chosen.name or "file", data=chosen.read())
    try:
        done = assign_by_file(program=desk.program, source=source, on=desk.today, hand=desk.hand())
    except LoadRefusedError as refusal:
        return _page(request, desk, fault=str(refusal), status=422)
    return _page(request, desk, done=done)


def _act(request: HttpRequest, desk: Desk) -> HttpResponse:
    if request.POST.get("whole") == "yes":
        ticked = assignable_pks(desk.program, area=area_from(request.GET), today=desk.today)
    else:
        sent = request.POST.getlist("premises")
        ticked = [int(pk) for pk in sent if pk.isdigit() and len(pk) < 18]
    firms = {str(firm.pk): firm for firm in firms_to_choose(desk.program)}
    firm = firms.get(request.POST.get("firm", ""))
    if not ticked:
        messages.error(request, "Tick at least one premises.")
    elif request.POST.get("act") == "back":
        count = take_back(program=desk.program, premises=ticked, on=desk.today, hand=desk.hand())
        messages.success(request, f"Taken back: {count}. Any approved company may come there.")
    elif firm is None:
        messages.error(request, "Choose the testing company.")
    else:
        count = assign_premises(
            program=desk.program, firm=firm, premises=ticked, how=HowAssigned.HAND, on=desk.today,
            hand=desk.hand(),
        )  # fmt: skip
        messages.success(request, f"Assigned to {firm}: {count} more premises.")
    answer = redirect("round-assign", code=desk.program.code)
    answer["Location"] += f"?{request.GET.urlencode()}" if request.GET else ""
    return answer


def _page(
    request: HttpRequest,
    desk: Desk,
    *,
    fault: str = "",
    done: FileAssigned | None = None,
    status: int = 200,
) -> HttpResponse:
    area = area_from(request.GET)
    found = assignable(desk.program, area=area, today=desk.today)
    drawn, ground = _drawn(found, area, desk)
    context = {
        "desk": desk,
        "area": area,
        "drawn_text": area.drawn.text if area.drawn else "",
        "places": [[round(lat, 5), round(lon, 5)] for lat, lon in found.places],
        "ground_href": reverse("map-ground", args=[desk.program.code]),
        "drawn": drawn,
        "said": ground.said,
        "zips": ", ".join(area.zips),
        "streets": ", ".join(area.streets),
        "found": found,
        "squares": _squares(found, area) if found.squares else [],
        "firms": firms_to_choose(desk.program),
        "query": request.GET.urlencode(),
        "fault": fault,
        "done": done,
    }
    return render(request, "reports/planning/assign.html", context, status=status)


def _squares(found: Assignable, area: Area) -> list[list[tuple[str, int, bool]]]:
    """Rows of squares as they lie on the map: name, premises in it, whether it is chosen."""
    rows = [[f"{column}{row}" for column in COLUMNS[:ACROSS]] for row in range(1, DOWN + 1)]
    return [
        [(name, found.counts.get(name, 0), name in area.squares) for name in names]
        for names in rows
    ]


def _drawn(found: Assignable, area: Area, desk: Desk) -> tuple[list[SafeString], Ground]:
    """The squares and the area as a drawing, for a desk and for a phone. One query."""
    squares = found.squares
    if squares is None:
        return [], Ground()
    corners = [(squares.south, squares.west), (squares.north, squares.east)]
    sheets = [
        projection_of(corners, width=width, height=height, pad=30)
        for width, height in ((808.0, 458.0), (358.0, 320.0))
    ]
    seen = visible_assemblies(desk.person).filter(program=desk.program)
    extent = around(*(sheet.extent for sheet in sheets))
    ground = ground_of(seen, extent=extent, zoom=max(sheet.zoom for sheet in sheets))
    many = sum(found.counts.values())
    says = f"{many:,} premises with work due, in squares A1 to F4; the list names them."
    drawn = [
        squares_map(
            found.places,
            squares,
            corners=area.drawn.corners if area.drawn else (),
            ground=ground,
            projection=sheet,
            says=says,
        )
        for sheet in sheets
    ]
    return [mark_safe(markup) for markup in drawn], ground  # noqa: S308  (drawn by us)
