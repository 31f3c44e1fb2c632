"""Premises assigned to a testing company: by list, by area, by a file."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_http_methods, require_POST

from registry.access import Verb
from registry.actions.assignments import assign_premises, take_back
from registry.domain.assigned import HowAssigned
from registry.source_files import LoadRefusedError, SourceFile
from reports.actions.assigning_file import FileAssigned, assign_by_file
from reports.domain.map_squares import ACROSS, DOWN
from reports.drawing.squares import squares_map
from reports.queries.assigning import (
    Area,
    Assignable,
    assignable,
    firms_to_choose,
    words_of_list,
)
from scheduling.views.desk import Desk, at_desk
from scheduling.views.uploads import chosen_file


def area_from(query: QueryDict) -> Area:
    """The area as an address holds it."""
    return Area(
        zips=words_of_list(query.get("zips", "")[:1000]),
        streets=words_of_list(query.get("streets", "")[:1000]),
        squares=tuple(name[:2] for name in query.getlist("square")[:24]),
        only_free=query.get("free", "") == "yes",
    )


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.PLAN)
def round_assign(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list of an area; what is ticked is assigned, or taken back."""
    if request.method == "POST":
        return _act(request, desk)
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
    ticked = [int(pk) for pk in request.POST.getlist("premises") if pk.isdigit() and len(pk) < 18]
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
    context = {
        "desk": desk,
        "area": area,
        "zips": ", ".join(area.zips),
        "streets": ", ".join(area.streets),
        "found": found,
        "squares": _squares(found, area) if found.squares else [],
        "map_wide": _drawn(found, width=760.0, height=420.0),
        "map_narrow": _drawn(found, width=358.0, height=320.0),
        "firms": firms_to_choose(desk.program),
        "query": request.GET.urlencode(),
        "fault": fault,
        "done": done,
    }
    return render(request, "reports/planning/assign.html", context, status=status)


def _squares(found: Assignable, area: Area) -> list[list[tuple[str, int, bool]]]:
    """Rows of squares as they lie on the map: name, premises in it, whether it is chosen."""
    rows = [[f"{column}{row}" for column in "ABCDEF"[:ACROSS]] for row in range(1, DOWN + 1)]
    return [
        [(name, found.counts.get(name, 0), name in area.squares) for name in names]
        for names in rows
    ]


def _drawn(found: Assignable, *, width: float, height: float) -> str:
    if found.squares is None:
        return ""
    says = f"{len(found.places)} premises with work due, in squares A1 to F4; the list names them."
    drawn = squares_map(found.places, found.squares, width=width, height=height, says=says)
    return mark_safe(drawn)  # noqa: S308  (drawn by us from numbers)
