"""The reports that the quality watch reads, and what it sees in them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from dateutil.relativedelta import relativedelta

from registry.domain.identity import serial_key
from registry.models import Program
from reports.domain.verdicts import Outcome
from reports.domain.watch import Seen, Sighting, Watch
from reports.domain.watch_digits import digit_preference
from reports.domain.watch_jumps import jumps_without_repair
from reports.domain.watch_rates import Rate, outside_the_funnel, rates
from reports.domain.watch_repeats import repeated_readings
from reports.domain.watch_times import impossible_times
from reports.models import FieldTest
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

YEARS = 3
MOST = 20_000
NAMED = 12
"""Reports linked under one sighting; the rest are counted."""

_FIGURES = (
    *("relief", "check1", "check2", "air_inlet", "check"),
    *("bypass_relief", "bypass_check1", "bypass_check2"),
)
_WATCHES: dict[Watch, Callable[[Sequence[Seen]], Iterator[Sighting]]] = {
    Watch.TIMES: impossible_times,
    Watch.REPEATS: repeated_readings,
    Watch.JUMPS: jumps_without_repair,
    Watch.RATES: outside_the_funnel,
    Watch.DIGITS: digit_preference,
}


@dataclass(frozen=True, kw_only=True)
class ReportLink:
    """A report as evidence."""

    pk: int
    serial: str
    on: date


@dataclass(frozen=True, kw_only=True)
class SightingShown:
    """A sighting with the reports behind it."""

    about: str
    words: str
    by_chance: float | None
    reports: list[ReportLink]
    more: int


@dataclass(frozen=True, kw_only=True)
class Watched:
    """What was looked through, and what was seen, watch by watch."""

    since: date
    looked_at: int
    is_cut: bool
    told: dict[Watch, list[SightingShown]]
    rates: list[tuple[str, Rate]]
    """Every tester with enough tests, by name, with the limits of the funnel."""

    @property
    def count(self) -> int:
        """How many sightings there are."""
        return sum(len(some) for some in self.told.values())


def watched(program: Program, *, today: date) -> Watched:
    """Look through the newest reports of three years, at most 20,000. Two queries."""
    since = today - relativedelta(years=YEARS)
    rows = _rows(program, since=since, today=today)
    names = _names(rows)
    repaired = _repaired_since(rows, program=program, since=since)
    seen = [_seen(row, repaired=repaired) for row in rows]
    links = {row["pk"]: _link(row) for row in rows}
    told = {
        watch: [_shown(one, links=links, names=names) for one in look(seen)]
        for watch, look in _WATCHES.items()
    }
    return Watched(
        since=since,
        looked_at=len(rows),
        is_cut=len(rows) == MOST,
        told=told,
        rates=[(names.get(rate.tester, rate.tester), rate) for rate in rates(seen)],
    )


def _rows(program: Program, *, since: date, today: date) -> list[dict[str, Any]]:
    tests = FieldTest.objects.filter(
        program=program,
        tested_on__gt=since,
        tested_on__lte=today,
        assembly__isnull=False,
        outcome__in=[Outcome.PASS.value, Outcome.FAIL.value],
    )
    return list(
        tests.order_by("-tested_on", "-id").values(
            *("pk", "serial", "tested_on", "tested_at", "assembly_id", "assembly__type"),
            *("assembly__premises_id", "assembly__premises__lat", "assembly__premises__lon"),
            *("tester_certificate", "tester_name", "gauge_id", "gauge_serial"),
            *("initial", "final", "as_found", "repairs"),
        )[:MOST]
    )


def _repaired_since(rows: Sequence[dict[str, Any]], *, program: Program, since: date) -> set[int]:
    """Reports after which, and by the day of the next, a repair is on record as a fact."""
    facts = Fact.objects.filter(
        program=program, kind=FactKind.REPAIRED, on__gt=since, withdrawn_at__isnull=True
    )
    days: dict[int, list[date]] = {}
    for pk, on in facts.values_list("assembly_id", "on"):
        if pk is not None:
            days.setdefault(pk, []).append(on)
    found: set[int] = set()
    next_on: dict[int, date] = {}
    for row in rows:  # newest first
        pk, on = row["assembly_id"], row["tested_on"]
        until = next_on.get(pk, date.max)
        if any(on <= day <= until for day in days.get(pk, ())):
            found.add(row["pk"])
        next_on[pk] = on
    return found


def _seen(row: dict[str, Any], *, repaired: set[int]) -> Seen:
    final = {name: text for name, text in (row["final"] or {}).items() if text}
    lat, lon = row["assembly__premises__lat"], row["assembly__premises__lon"]
    return Seen(
        test_id=row["pk"],
        on=row["tested_on"],
        at=row["tested_at"],
        assembly_id=row["assembly_id"],
        type=row["assembly__type"],
        premises_id=row["assembly__premises_id"],
        lat=float(lat) if lat is not None else None,
        lon=float(lon) if lon is not None else None,
        tester=serial_key(row["tester_certificate"]),
        gauge=f"{row['gauge_id'] or ''}:{serial_key(row['gauge_serial'])}".strip(":"),
        figures=_figures(row["initial"] or {}),
        left=_figures(final),
        found_failing=row["as_found"] == Outcome.FAIL,
        was_repaired=bool(final or row["repairs"]) or row["pk"] in repaired,
    )


def _figures(readings: dict[str, Any]) -> tuple[tuple[str, Decimal], ...]:
    told = ((name, _figure(readings.get(name))) for name in _FIGURES)
    return tuple((name, figure) for name, figure in told if figure is not None)


def _figure(text: object) -> Decimal | None:
    try:
        return Decimal(str(text)) if text not in (None, "") else None
    except InvalidOperation:
        return None


def _names(rows: Iterable[dict[str, Any]]) -> dict[str, str]:
    """How testers and gauges are called on the page, by the key they are compared under."""
    names: dict[str, str] = {}
    for row in rows:
        certificate, name = row["tester_certificate"], row["tester_name"]
        told = ", ".join(part for part in (name, certificate) if part)
        names.setdefault(serial_key(certificate), told)
        key = f"{row['gauge_id'] or ''}:{serial_key(row['gauge_serial'])}".strip(":")
        names.setdefault(f"gauge {key}", f"gauge {row['gauge_serial']}")
        names.setdefault(f"tester {serial_key(certificate)}", told)
    return names


def _link(row: dict[str, Any]) -> ReportLink:
    return ReportLink(pk=row["pk"], serial=row["serial"], on=row["tested_on"])


def _shown(one: Sighting, *, links: dict[int, ReportLink], names: dict[str, str]) -> SightingShown:
    return SightingShown(
        about=names.get(one.about, one.about),
        words=one.words,
        by_chance=one.by_chance,
        reports=[links[pk] for pk in one.tests[:NAMED]],
        more=max(len(one.tests) - NAMED, 0),
    )
