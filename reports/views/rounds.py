"""Rounds: the week board of the newest plan, and a tester's day with its route drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from registry.models import Tester
from reports.models import Plan, Round
from reports.queries.entry_rights import own_lapses, tester_of
from reports.queries.round_pages import (
    BoardRow,
    board,
    changes_seen,
    left_out,
    newest_plan,
    rounds_seen,
    stops_of,
)
from reports.rounds.broken_rules import broken
from reports.rounds.roads import attribution, travel_words
from reports.rounds.van import van_words
from reports.views.live_day import CHOICES, may_say, outcomes_of
from reports.views.round_changes import changer_of, may_change
from reports.views.rounds_shown import (
    CellShown,
    StopShown,
    cell_shown,
    route_drawn,
    shown_whole,
)
from scheduling.views.desk import Desk, Seat, at_desk

Rows = Sequence[tuple[Tester, list[CellShown]]]


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
        context |= _board(request, desk, plan)
    return render(request, "reports/rounds.html", context)


def _board(request: HttpRequest, desk: Desk, plan: Plan) -> dict[str, object]:
    days, found = board(desk, plan)
    own = tester_of(desk)
    found.sort(key=lambda row: own is None or row.tester.pk != own.pk)
    rows = [(row.tester, [cell_shown(cell, desk) for cell in row.cells]) for row in found]
    chosen = _chosen(request.GET.get("day", ""), days=days, today=desk.today)
    picked = _picked(request.GET.get("round", ""), rows=rows, on=chosen)
    unplanned = left_out(plan, desk) if may_change(desk) or desk.seat is Seat.OFFICE else []
    return {
        "days": days,
        "rows": rows,
        "chosen": chosen,
        "next_stop": _next_stop(rows, own=own, desk=desk) if own else None,
        **_way(picked, desk),
        "is_under_way": bool(days) and min(days) <= desk.today <= max(days),
        "last_day": max(days) if days else plan.from_on,
        "drive": sum(one.round.drive_minutes for row in found for one in row.cells if one.round),
        "stop_count": sum(len(cell.stops) for row in found for cell in row.cells),
        "promised": _promised(found),
        "unplanned": unplanned,
        "unplanned_count": sum(group.count for group in unplanned),
        "travel": travel_words(plan),
        "attribution": attribution(plan.travel_how),
    }


def _way(picked: CellShown | None, desk: Desk) -> dict[str, object]:
    if picked is None or picked.round is None:
        return {"picked": None}
    drawn, ground = route_drawn(picked.round, picked.stops, desk, wide=(808.0, 458.0))
    return {"picked": picked, "drawn": drawn, "said": ground.said}


def _picked(text: str, *, rows: Rows, on: date | None) -> CellShown | None:
    """The day whose way is drawn: the one asked for, else the first of the chosen day."""
    cells = [cell for _, row in rows for cell in row if cell.round and cell.has_places]
    asked = (cell for cell in cells if cell.round and str(cell.round.pk) == text)
    of_the_day = (cell for cell in cells if cell.on == on)
    return next(asked, None) or next(of_the_day, None)


def _next_stop(rows: Rows, *, own: Tester, desk: Desk) -> StopShown | None:
    """A tester's own next stop of today, with what the visit needs."""
    days = (cell for tester, row in rows if tester.pk == own.pk for cell in row)
    today = next((cell for cell in days if cell.on == desk.today and cell.round), None)
    if today is None or today.round is None:
        return None
    stops = stops_of(today.round)
    told = outcomes_of(today.round, stops)
    following = next((stop for stop in stops if stop.pk not in told), None)
    return shown_whole(following, desk) if following else None


def _chosen(text: str, *, days: list[date], today: date) -> date | None:
    """The day a phone shows: the one asked for, else today or the next of the plan."""
    asked = next((day for day in days if day.isoformat() == text), None)
    ahead = next((day for day in days if day >= today), None)
    return asked or ahead or (days[0] if days else None)


def _promised(rows: list[BoardRow]) -> int:
    return sum(1 for row in rows for cell in row.cells for stop in cell.stops if stop.promised_at)


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
        replace(shown_whole(stop, desk), told=told.get(stop.pk), is_next=stop.pk == following)
        for stop in rows
    ]
    drawn, ground = route_drawn(one, stops, desk)
    breaks, van = _as_it_stands(one, desk)
    context = {
        "desk": desk,
        "may_change": may_change(desk),
        "may_say": may_say(desk, one),
        "outcomes": CHOICES,
        "broken": breaks,
        "van": van,
        "round": one,
        "stops": stops,
        "starts": one.starts_at.astimezone(desk.zone),
        "ends": one.ends_at.astimezone(desk.zone),
        "lunch": [at.astimezone(desk.zone) for at in (one.lunch_from, one.lunch_to) if at],
        "drawn_wide": drawn[0],
        "drawn_narrow": drawn[1],
        "said": ground.said,
        "has_map": any(one.stop.premises.lat is not None for one in stops),
    }
    return render(request, "reports/round.html", context)


def _as_it_stands(one: Round, desk: Desk) -> tuple[tuple[str, ...], str]:
    """What the day breaks as it stands now, looked at anew, and how full the van is."""
    planned = changer_of(desk, first_day=one.on, days=1).read()
    key = (str(one.tester_id), one.on)
    day = planned.week.problem.day_by_key.get(key)
    if day is None:
        gone = "The tester does not work on this day, or is not approved for it any more."
        return (gone,), ""
    return broken(planned, [key]), van_words(planned.draft.orders.get(key, []), day=day)
