"""Courses of readings from stored field tests, and the peers that a chance is worked out from."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from registry.domain.kinds import AssemblyType
from registry.models import Assembly, Program
from reports.domain.limits import KPA_PER_PSI
from reports.domain.risk import (
    Chance,
    Kin,
    Step,
    Unknown,
    age_band,
    at_least_one,
    chance_of_falling,
    size_band,
    steps_of,
)
from reports.domain.trends import Observed
from reports.models import FieldTest
from reports.queries.certificates import CERTIFIED

PEERS = 400
_LOOKED_THROUGH = 3 * PEERS

Histories = dict[str, list[Observed]]


def histories(tests: Iterable[FieldTest]) -> Histories:
    """The course of each reading with a limit in figures, in psi; tests that count only."""
    found: Histories = {}
    for test in sorted(tests, key=lambda one: (one.tested_on, one.pk)):
        if test.counts and test.outcome in CERTIFIED:
            _add(found, verdict=test.verdict or {}, unit=test.unit, on=test.tested_on)
    return found


def _add(found: Histories, *, verdict: Mapping[str, Any], unit: str, on: date) -> None:
    factor = KPA_PER_PSI if unit == "kPa" else Decimal(1)
    first, last = _by_name(verdict.get("initial")), _by_name(verdict.get("final"))
    for name, one in first.items():
        limit = _figure(one.get("limit"))
        if limit is None or name.endswith("above_relief"):
            continue
        reading = _figure(one.get("reading"))
        again = _figure(last[name].get("reading")) if name in last else None
        left = again if name in last else reading
        found.setdefault(name, []).append(
            Observed(
                on=on,
                found=_in(reading, factor),
                found_failing=reading is None and one.get("met") is False,
                left=_in(left, factor),
                was_repaired=bool(last),
                limit=_in(limit, factor),
            )
        )


def _by_name(part: Mapping[str, Any] | None) -> dict[str, Mapping[str, Any]]:
    return {str(one.get("name")): one for one in (part or {}).get("criteria", [])}


def _figure(text: object) -> Decimal | None:
    try:
        return Decimal(str(text)) if text not in (None, "") else None
    except InvalidOperation:
        return None


def _in(figure: Decimal | None, factor: Decimal) -> float | None:
    return float(figure / factor) if figure is not None else None


@dataclass(frozen=True, kw_only=True)
class Peers:
    """The steps of a type's peers by reading."""

    steps: Mapping[str, Sequence[Step]]

    def of(self, reading: str) -> Sequence[Step]:
        """The steps of one reading."""
        return self.steps.get(reading, ())


def peers_of(*, program: Program, type_: str, by: date) -> Peers:
    """The steps of the assemblies of a type that were tested last, by a day. Two queries."""
    counted = FieldTest.objects.filter(
        program=program, counts=True, outcome__in=CERTIFIED, tested_on__lte=by
    )
    newest = counted.filter(assembly__type=type_).order_by("-tested_on", "-pk")
    ids = list(dict.fromkeys(newest.values_list("assembly_id", flat=True)[:_LOOKED_THROUGH]))
    rows = counted.filter(assembly__in=ids[:PEERS]).order_by("assembly", "tested_on", "pk")
    courses: dict[int, Histories] = {}
    kept: dict[int, tuple[float, date | None]] = {}
    for pk, on, unit, verdict, size_in, installed_on in rows.values_list(
        *("assembly_id", "tested_on", "unit", "verdict"),
        *("assembly__size_in", "assembly__state__installed_on"),
    ).iterator(chunk_size=2000):
        if pk is not None:
            _add(courses.setdefault(pk, {}), verdict=verdict or {}, unit=unit, on=on)
            kept[pk] = (float(size_in), installed_on)
    steps: dict[str, list[Step]] = {}
    for pk, course in courses.items():
        size, installed = kept[pk]
        for name, history in course.items():
            told = steps_of(
                history, type_=AssemblyType(type_), size_in=size, installed_on=installed
            )
            steps.setdefault(name, []).extend(told)
    return Peers(steps=steps)


def chances(
    assembly: Assembly,
    *,
    courses: Histories,
    peers: Peers,
    next_on: date,
    installed_on: date | None,
) -> dict[str, Chance | Unknown]:
    """The chance of each reading to fall below its limit at a test on a day."""
    kin = Kin(
        type=AssemblyType(assembly.type),
        size=size_band(float(assembly.size_in)),
        age=age_band(installed_on, on=next_on),
    )
    return {
        name: _chance(history, kin=kin, next_on=next_on, peers=peers.of(name))
        for name, history in courses.items()
    }


def _chance(
    history: Sequence[Observed], *, kin: Kin, next_on: date, peers: Sequence[Step]
) -> Chance | Unknown:
    last = history[-1]
    stands_failed = last.left is None or (last.limit is not None and last.left < last.limit)
    if stands_failed and (last.found_failing or last.left is not None):
        return Unknown(why="It stands below its limit now.")
    if last.limit is None:
        return Unknown(why="The newest test gives it no limit in figures.")
    return chance_of_falling(history, kin=kin, limit=last.limit, next_on=next_on, peers=peers)


def chance_of_any(told: Collection[Chance | Unknown]) -> float | None:
    """The chance that any reading falls below; None where that of one is not known."""
    shares = [one.share for one in told if isinstance(one, Chance)]
    return at_least_one(shares) if shares and len(shares) == len(told) else None
