"""Premises by what they owe themselves, and those where no assembly stands."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_GET

from registry.access import visible_premises
from reports.queries.places_list import SHOWN, Asked, PlaceRow, page_of_places
from reports.wording.standing import StandingDays, standing_note
from scheduling.views.desk import Desk, at_desk

CHOICES = (
    ("owed", "that owe protection or a survey"),
    ("protection", "that owe protection"),
    ("survey", "that owe a survey"),
    ("without", "without an assembly"),
)


def asked_from(query: QueryDict) -> Asked:
    """The blanks of the sentence as an address holds them."""
    show = query.get("show", "")
    return Asked(
        show=show if show in SHOWN else "owed",
        late=query.get("late", "") == "yes",
        search=query.get("q", "")[:100].replace("\x00", "").strip(),
    )


@require_GET
@at_desk()
def premises_list(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list, a page at a time, by due date."""
    asked = asked_from(request.GET)
    text = request.GET.get("page", "1")
    page = page_of_places(
        visible_premises(desk.person).filter(program=desk.program),
        program=desk.program,
        asked=asked,
        number=int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 1,
        today=desk.today,
    )
    kept = {"show": asked.show, "late": "yes" if asked.late else "", "q": asked.search}
    context = {
        "desk": desk,
        "asked": asked,
        "page": page,
        "rows": [(row, *_stands(row, desk)) for row in page.rows],
        "choices": CHOICES,
        "query": urlencode({name: value for name, value in kept.items() if value}),
    }
    return render(request, "reports/premises_list.html", context)


def _stands(row: PlaceRow, desk: Desk) -> tuple[str, str]:
    if row.obligation is None:
        return "", ""
    standing = "overdue" if row.obligation.due_on < desk.today else "due"
    days = StandingDays(due_on=row.obligation.due_on)
    return standing, standing_note(standing, days=days, today=desk.today)
