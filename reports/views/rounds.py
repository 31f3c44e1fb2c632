"""Rounds: the week board of the newest plan, and a tester's day with its route drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from registry.access import visible_assemblies
from reports.drawing.daystrip import day_strip
from reports.drawing.route import RouteStop, route_map
from reports.models import Round, Stop, VisitTold
from reports.queries.entry_rights import own_lapses
from reports.queries.map_pins import drawn_streets
from reports.queries.round_pages import (
    BoardRow,
    Cell,
    board,
    changes_seen,
    left_out,
    newest_plan,
    rounds_seen,
    stops_of,
)
from reports.rounds.broken_rules import broken
from reports.rounds.needs import people_needed, shutdown_words
from reports.rounds.roads import attribution, travel_words
from reports.views.live_day import CHOICES, may_say, outcomes_of
from reports.views.round_changes import changer_of, may_change
from scheduling.views.desk import Desk, Seat, at_desk


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


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def rounds(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The board of the newest plan."""
    plan = newest_plan(desk.program)
    context: dict[str, object] = {
        "desk": desk,
        "plan": plan,
        "is_office": desk.seat is Seat.OFFICE,
        "may_change": may_change(desk),
        "lapses": own_lapses(desk) if desk.seat is Seat.FIRM else [],
        "changes": changes_seen(desk, plan) if plan and may_change(desk) else [],
    }
    if plan:
        days, rows = board(desk, plan)
        unplanned = left_out(plan) if desk.seat is Seat.OFFICE else []
        context |= {
            "days": days,
            "rows": [(row.tester, [_cell(cell, desk) for cell in row.cells]) for row in rows],
            "chosen": _chosen(request.GET.get("day", ""), days=days, today=desk.today),
            "is_under_way": bool(days) and min(days) <= desk.today <= max(days),
            "last_day": max(days) if days else plan.from_on,
            "stop_count": sum(len(cell.stops) for row in rows for cell in row.cells),
            "promised": _promised(rows),
            "unplanned": unplanned,
            "unplanned_count": sum(group.count for group in unplanned),
            "travel": travel_words(plan),
            "attribution": attribution(plan.travel_how),
        }
    return render(request, "reports/rounds.html", context)


def _chosen(text: str, *, days: list[date], today: date) -> date | None:
    """The day a phone shows: the one asked for, else today or the next of the plan."""
    asked = next((day for day in days if day.isoformat() == text), None)
    ahead = next((day for day in days if day >= today), None)
    return asked or ahead or (days[0] if days else None)


def _promised(rows: list[BoardRow]) -> int:
    return sum(1 for row in rows for cell in row.cells for stop in cell.stops if stop.promised_at)


def _shown(stop: Stop, desk: Desk) -> StopShown:
    return StopShown(
        stop=stop,
        arrives=stop.arrives_at.astimezone(desk.zone),
        leaves=stop.leaves_at.astimezone(desk.zone),
    )


def _shown_whole(stop: Stop, desk: Desk) -> StopShown:
    """With what the visit needs: two people, whom to tell before the water goes off."""
    assemblies = [work.assembly for work in stop.work.all()]
    return replace(
        _shown(stop, desk),
        people=people_needed(assemblies),
        shutdown=shutdown_words(stop.premises, assemblies),
    )


def _cell(cell: Cell, desk: Desk) -> CellShown:
    stops = [_shown(stop, desk) for stop in cell.stops]
    strip = mark_safe("")
    if cell.round and stops:
        drawn = day_strip(
            [(one.arrives, one.leaves) for one in stops],
            says=f"{len(stops)} stops, {stops[0].arrives:%H:%M} to {stops[-1].leaves:%H:%M}",
        )
        strip = mark_safe(drawn)  # noqa: S308  (drawn by us from times)
    lunch = cell.round.lunch_from if cell.round else None
    return CellShown(
        on=cell.on,
        round=cell.round,
        strip=strip,
        stops=stops,
        lunch=lunch.astimezone(desk.zone) if lunch else None,
    )


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def round_day(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One tester's day: stops in order, the route drawn, what to know before each."""
    one = rounds_seen(desk).filter(pk=pk).select_related("tester", "firm", "plan").first()
    if one is None:
        raise Http404("No such round.")
    rows = stops_of(one)
    told = outcomes_of(one, rows)
    is_today = one.on == desk.today
    following = next((stop.pk for stop in rows if stop.pk not in told), None) if is_today else None
    stops = [
        replace(_shown_whole(stop, desk), told=told.get(stop.pk), is_next=stop.pk == following)
        for stop in rows
    ]
    drawn = [
        mark_safe(_route(one, stops, desk, width=width, height=height))  # noqa: S308
        for width, height in ((1176.0, 560.0), (358.0, 380.0))
    ]
    context = {
        "desk": desk,
        "may_change": may_change(desk),
        "may_say": may_say(desk, one),
        "outcomes": CHOICES,
        "broken": _broken(one, desk),
        "round": one,
        "stops": stops,
        "starts": one.starts_at.astimezone(desk.zone),
        "ends": one.ends_at.astimezone(desk.zone),
        "lunch": [at.astimezone(desk.zone) for at in (one.lunch_from, one.lunch_to) if at],
        "drawn_wide": drawn[0],
        "drawn_narrow": drawn[1],
        "has_map": any(one.stop.premises.lat is not None for one in stops),
    }
    return render(request, "reports/round.html", context)


def _broken(one: Round, desk: Desk) -> tuple[str, ...]:
    """What the day breaks as it stands now, looked at anew."""
    planned = changer_of(desk, first_day=one.on, days=1).read()
    key = (str(one.tester_id), one.on)
    if key not in planned.week.problem.day_by_key:
        return ("The tester does not work on this day, or is not approved for it any more.",)
    return broken(planned, [key])


def _route(one: Round, stops: list[StopShown], desk: Desk, *, width: float, height: float) -> str:
    placed = [
        RouteStop(
            number=number,
            lat=float(shown.stop.premises.lat),
            lon=float(shown.stop.premises.lon),
            words=f"{shown.arrives.hour % 12 or 12}:{shown.arrives:%M} {shown.stop.premises}"[:44],
        )
        for number, shown in enumerate(stops, start=1)
        if shown.stop.premises.lat is not None and shown.stop.premises.lon is not None
    ]
    seen = visible_assemblies(desk.person).filter(program=desk.program)
    return route_map(
        placed,
        depot=(float(one.depot_lat), float(one.depot_lon)),
        streets=drawn_streets(seen),
        width=width,
        height=height,
        says=f"The route of {len(stops)} stops in the order driven; the list holds each.",
    )
