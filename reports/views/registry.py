"""The registry as a list with its sentence filter, and the same rows as pins for the map."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from registry.access import visible_assemblies
from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from registry.models import Assembly
from reports.queries.registry_list import Wanted, page_of, wanted_assemblies
from reports.queries.where_they_stand import GRAVITY
from reports.wording.rungs import RungShown, rung_of, rungs_shown
from reports.wording.standing import StandingDays, standing_note
from scheduling.domain.standing import Standing
from scheduling.models import AssemblyState
from scheduling.views.desk import EVERY_SEAT, Desk, Seat, at_desk
from scheduling.views.rules_in_force import rulebook_of


@dataclass(frozen=True, kw_only=True)
class RowShown:
    """A row of the list with what its cells say."""

    assembly: Assembly
    standing: str
    note: str
    due_on: object
    is_due_past: bool
    last_passed_on: object
    rung: RungShown | None


def wanted_from(query: QueryDict) -> Wanted:
    """The blanks of the sentence as an address holds them; what is no choice takes everything."""

    def one_of(name: str, choices: list[str]) -> str:
        value = query.get(name, "")
        return value if value in choices else ""

    standings = [one.value for one in Standing] + ["not good", "all"]
    return Wanted(
        type=one_of("type", [one.value for one in AssemblyType]),
        service=one_of("service", [one.value for one in ServiceKind if one.value]),
        standing=one_of("standing", standings),
        hazard=one_of("hazard", [one.value for one in Hazard]),
        rung=query.get("rung", "")[:40].replace("\x00", ""),
        search=query.get("q", "")[:100].replace("\x00", "").strip(),
    )


def _page_number(query: QueryDict) -> int:
    text = query.get("page", "1")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 1


def seen_assemblies(desk: Desk) -> QuerySet[Assembly]:
    """The assemblies of the program that the person may see."""
    return visible_assemblies(desk.person).filter(program=desk.program)


@require_GET
@at_desk(seats=EVERY_SEAT)
def registry(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list, a page at a time, gravest first."""
    wanted = wanted_from(request.GET)
    found = wanted_assemblies(seen_assemblies(desk), wanted=wanted, day=desk.today)
    page = page_of(found, number=_page_number(request.GET))
    book = rulebook_of(desk)
    rungs = {rung.key: rung for rung in (rungs_shown(book.ladder) if book else [])}
    asked = asked_of(wanted)
    context = {
        "desk": desk,
        "is_office": desk.seat is Seat.OFFICE,
        "wanted": wanted,
        "page": page,
        "rows": [_row(one, desk=desk, rungs=rungs) for one in page.rows],
        "types": [one.value for one in AssemblyType],
        "services": [one.value for one in ServiceKind if one.value],
        "standings": _standing_choices(),
        "rungs": [(key, rung.name) for key, rung in rungs.items()],
        "query": urlencode(asked),
        "map_href": reverse("registry-map", args=[desk.program.code]) + "?" + urlencode(asked),
        "ground_href": reverse("map-ground", args=[desk.program.code]),
        "is_filtered": bool(asked),
        "key": map_key(),
    }
    return render(request, "reports/registry.html", context)


def asked_of(wanted: Wanted) -> dict[str, str]:
    """The blanks that were filled, as an address holds them."""
    blanks = {
        "type": wanted.type,
        "service": wanted.service,
        "standing": wanted.standing,
        "hazard": wanted.hazard,
        "rung": wanted.rung,
        "q": wanted.search,
    }
    return {name: value for name, value in blanks.items() if value}


def _standing_choices() -> list[tuple[str, str]]:
    named = [(one.value, one.value) for one in GRAVITY]
    return [("", "anywhere"), ("not good", "anywhere but good"), *named]


def map_key() -> list[str]:
    """The standings that a map's key names."""
    return [one.value for one in GRAVITY if one not in {Standing.EXEMPT, Standing.REMOVED}]


def _row(assembly: Assembly, *, desk: Desk, rungs: dict[str, RungShown]) -> RowShown:
    standing = str(getattr(assembly, "standing", Standing.GOOD.value))
    state: AssemblyState | None = getattr(assembly, "state", None)
    days = days_of(state)
    key = str(getattr(assembly, "last_rung", "") or "")
    resting = standing in {Standing.REMOVED, Standing.IDLE, Standing.EXEMPT}
    return RowShown(
        assembly=assembly,
        standing=standing,
        note=standing_note(standing, days=days, today=desk.today),
        due_on=None if resting else days.due_on,
        is_due_past=bool(days.due_on and days.due_on < desk.today),
        last_passed_on=days.last_passed_on,
        rung=rung_of(key, rungs) if key and desk.seat is Seat.OFFICE else None,
    )


def days_of(state: AssemblyState | None) -> StandingDays:
    """The stored dates of an assembly as plain days."""
    if state is None:
        return StandingDays()
    return StandingDays(
        opens_on=state.opens_on,
        due_on=state.due_on,
        cure_by=state.cure_by,
        failed_on=state.failed_on,
        idle_since=state.idle_since,
        removed_on=state.removed_on,
        last_passed_on=state.last_passed_on,
    )
