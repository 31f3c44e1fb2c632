"""Visits that found no test possible, for the letters and pages that name what hindered it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from scheduling.domain.facts import FactKind
from scheduling.models import Fact, Obligation

Visits = Mapping[int, tuple[date, str]]
"""By assembly: the day of the last such visit, and the shutoff valve that was at fault, if any."""

_AT_ONCE = 900


def visits_without_a_test(rows: Iterable[Obligation]) -> Visits:
    """The last such visit of each assembly. One query for every 900 assemblies."""
    ids = sorted({row.assembly_id for row in rows if row.assembly_id is not None})
    found: dict[int, tuple[date, str]] = {}
    for start in range(0, len(ids), _AT_ONCE):
        for assembly_id, on, detail in _facts(ids[start : start + _AT_ONCE]):
            found[assembly_id] = (on, str(detail.get("valve", "")))
    return found


def since_it_opened(row: Obligation, *, visits: Visits) -> tuple[date | None, str]:
    """The visit that counts for an obligation: one since it opened, or on the day it failed."""
    found = visits.get(row.assembly_id or 0)
    if found is None:
        return None, ""
    on, valve = found
    began = min(day for day in (row.opens_on, row.opened_on, row.failed_on) if day is not None)
    return (on, valve) if on >= began else (None, "")


def _facts(ids: Sequence[int]) -> Iterable[tuple[int, date, dict[str, str]]]:
    facts = Fact.objects.filter(
        assembly_id__in=ids, kind=FactKind.UNTESTABLE.value, withdrawn_at__isnull=True
    )
    return facts.order_by("on", "pk").values_list("assembly_id", "on", "detail")
