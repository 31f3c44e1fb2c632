"""What came in while a test is owed: visits without one, and reports that closed nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from notices.domain.in_hand import ReportInHand
from notices.queries.reports_in_hand import reports_in_hand
from scheduling.domain.facts import FactKind
from scheduling.models import Fact, Obligation


@dataclass(frozen=True, slots=True)
class Visits:
    """By assembly: the last visit without a test, with the valve at fault; the report in hand."""

    hindered: Mapping[int, tuple[date, str]] = field(default_factory=dict)
    reports: Mapping[int, ReportInHand] = field(default_factory=dict)


_AT_ONCE = 900


def visits_without_a_test(rows: Iterable[Obligation]) -> Visits:
    """The last such visit, and the report in hand, of each assembly: two queries for 900."""
    ids = sorted({row.assembly_id for row in rows if row.assembly_id is not None})
    found: dict[int, tuple[date, str]] = {}
    for start in range(0, len(ids), _AT_ONCE):
        for assembly_id, on, detail in _facts(ids[start : start + _AT_ONCE]):
            found[assembly_id] = (on, str(detail.get("valve", "")))
    return Visits(hindered=found, reports=reports_in_hand(ids))


def since_it_opened(row: Obligation, *, visits: Visits | None) -> tuple[date | None, str]:
    """The visit that counts for an obligation: one since it opened, or on the day it failed."""
    found = visits.hindered.get(row.assembly_id or 0) if visits is not None else None
    if found is None:
        return None, ""
    on, valve = found
    return (on, valve) if on >= began_on(row) else (None, "")


def report_since(row: Obligation, *, visits: Visits | None) -> ReportInHand | None:
    """The report in hand about an obligation: tested since it opened, or on the day it failed."""
    found = visits.reports.get(row.assembly_id or 0) if visits is not None else None
    return found if found is not None and found.tested_on >= began_on(row) else None


def began_on(row: Obligation) -> date:
    """The first day of an obligation: that it opened on, or failed on."""
    return min(day for day in (row.opens_on, row.opened_on, row.failed_on) if day is not None)


def _facts(ids: Sequence[int]) -> Iterable[tuple[int, date, dict[str, str]]]:
    facts = Fact.objects.filter(
        assembly_id__in=ids, kind=FactKind.UNTESTABLE.value, withdrawn_at__isnull=True
    )
    return facts.order_by("on", "pk").values_list("assembly_id", "on", "detail")
