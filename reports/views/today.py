"""Today: what needs a person, where the assemblies stand, the year, the ladder."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from registry.access import Verb
from registry.models import Program
from reports.drawing.dots import dots, obligations_a_dot
from reports.drawing.ribbon import ribbon
from reports.queries.ladder import OnRung, ladder_counts
from reports.queries.needs import Need
from reports.queries.today import lately, needs_of
from reports.queries.where_they_stand import stands_of
from reports.queries.year import Year, year_of
from reports.wording.rungs import RungShown, rung_of, rungs_shown
from scheduling.domain.ladders import Ladder
from scheduling.views.desk import Desk, at_desk
from scheduling.views.rules_in_force import rulebook_of

_DOTS_WIDE: Final = 250.0
_DOTS_NARROW: Final = 76.0
_ROOM_WIDE: Final = 172  # dots that a rung holds at the desk, four high
_ROOM_NARROW: Final = 48
_ORDER: Final = "shutoff-order"


@dataclass(frozen=True, kw_only=True)
class NeedShown:
    """A line of what needs a person, with its address."""

    need: Need
    age: str
    href: str
    about_href: str


@dataclass(frozen=True, kw_only=True)
class RungRow:
    """A row of the ladder: the rung, its figures and its dots, wide and narrow."""

    rung: RungShown
    there: int
    waiting: int
    wide: SafeString
    narrow: SafeString


@require_GET
@at_desk(verb=Verb.LOOK)
def today(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The first page of an office."""
    year = year_of(desk.program, today=desk.today)
    stands = stands_of(desk.program, day=desk.today)
    book = rulebook_of(desk)
    rows, a_dot = ladder_rows(desk.program, ladder=book.ladder if book else None)
    context = {
        "desk": desk,
        "needs": [_shown(need, desk) for need in needs_of(desk.program, today=desk.today)],
        "stands": stands,
        "year": year,
        "day_of_year": desk.today.timetuple().tm_yday,
        "days_left": (date(desk.today.year, 12, 31) - desk.today).days,
        "ribbon_wide": _ribbon(year, today=desk.today, width=1176),
        "ribbon_narrow": _ribbon(year, today=desk.today, width=358),
        "rungs": rows,
        "a_dot": a_dot,
        "open_count": sum(row.there for row in rows),
        "lately": [(one.at.astimezone(desk.zone), one.words) for one in lately(desk.program)],
    }
    return render(request, "reports/today.html", context)


def _shown(need: Need, desk: Desk) -> NeedShown:
    code = desk.program.code
    if need.page == "load-batch":
        href = reverse(need.page, args=[code, int(need.query)])
    else:
        href = reverse(need.page, args=[code]) + need.query
    about = ""
    if need.about_at is not None:
        page, pk = need.about_at
        about = reverse(page, args=[code, pk]) + ("#stands" if page == "assembly" else "")
    return NeedShown(need=need, age=_age(need.since, desk.today), href=href, about_href=about)


def _age(since: date | None, today: date) -> str:
    if since is None:
        return ""
    days = (today - since).days
    if days <= 0:
        return "since today"
    return "since yesterday" if days == 1 else f"oldest {days} days"


def _ribbon(year: Year, *, today: date, width: float) -> SafeString:
    says = (
        f"Tests owed in {year.year} by the week they are due: "
        f"{sum(week.met for week in year.weeks):,} met, "
        f"{sum(week.open_past for week in year.weeks):,} open past their day, "
        f"{sum(week.to_come for week in year.weeks):,} to come."
    )
    return mark_safe(ribbon(year.weeks, today=today, width=width, says=says))  # noqa: S308


def ladder_rows(program: Program, *, ladder: Ladder | None) -> tuple[list[RungRow], int]:
    """The rungs, last step on top, and how many obligations one dot stands for at the desk."""
    counts = ladder_counts(program)
    known = {rung.key: rung for rung in (rungs_shown(ladder) if ladder else [])}
    keys = [key for key, rung in known.items() if rung.step or key in counts]
    keys += [key for key in counts if key and key not in known]
    most = max((one.there for one in counts.values()), default=0)
    wide = obligations_a_dot(most, room=_ROOM_WIDE)
    narrow = obligations_a_dot(most, room=_ROOM_NARROW)
    ordered = sorted(keys, key=lambda key: -rung_of(key, known).step)
    nothing = OnRung(rung="", there=0, waiting=0)
    bare = RungShown(key="", name="Open, no letter yet", step=0, figure="", is_grave=False, when="")
    shown = [(rung_of(key, known), counts.get(key, nothing)) for key in ordered]
    shown.append((bare, counts.get("", nothing)))
    rows = [_rung_row(rung, on_it, wide=wide, narrow=narrow) for rung, on_it in shown]
    return rows, wide


def _rung_row(rung: RungShown, on_it: OnRung, *, wide: int, narrow: int) -> RungRow:
    drawn = [
        mark_safe(  # noqa: S308  (drawn by us from integers)
            dots(
                there=on_it.there,
                owed=on_it.waiting,
                a_dot=a_dot,
                width=width,
                is_above_due=rung.is_grave,
            )
        )
        for a_dot, width in ((wide, _DOTS_WIDE), (narrow, _DOTS_NARROW))
    ]
    return RungRow(
        rung=rung, there=on_it.there, waiting=on_it.waiting, wide=drawn[0], narrow=drawn[1]
    )
