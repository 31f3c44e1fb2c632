"""Figures: where the assemblies stand, by type, hazard and service, and tested in time by month."""

from __future__ import annotations

from typing import Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from registry.access import Verb
from reports.domain.ratios import COLORADO_ASKS, Month
from reports.drawing.month_bars import month_bars
from reports.ledger.sealing import head_of
from reports.queries.figures import figures as figures_of
from reports.queries.where_they_stand import SHOWN
from scheduling.views.desk import Desk, at_desk

_WIDE: Final = 808
_NARROW: Final = 358


@require_GET
@at_desk(verb=Verb.LOOK)
def figures(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The kept board, and the year's ratio."""
    found = figures_of(desk.program)
    context = {
        "desk": desk,
        "figures": found,
        "head": head_of(desk.program),
        "standings": [one.value for one in SHOWN],
        "tables": [
            ("By type", "Type", found.by_type),
            ("By hazard", "Hazard", found.by_hazard),
            ("By service", "Service", found.by_service),
        ]
        if found
        else [],
        "reaches": bool(found and found.passed.reaches(COLORADO_ASKS)),
        "bars_wide": _drawn(found.months, width=_WIDE) if found else "",
        "bars_narrow": _drawn(found.months, width=_NARROW) if found else "",
    }
    return render(request, "reports/figures.html", context)


def _drawn(months: list[Month], *, width: float) -> SafeString:
    over = [month for month in months if month.is_over and month.due]
    told = ", ".join(f"{month.first:%B} {month.ratio.percent} %" for month in over)
    says = f"Tested in time by month: {told or 'no month is over yet'}."
    return mark_safe(month_bars(months, width=width, says=says))  # noqa: S308  (ours, of numbers)
