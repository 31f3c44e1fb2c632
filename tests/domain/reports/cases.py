"""Short ways to write a test part, and the shipped limits."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path

from registry.domain.kinds import AssemblyType
from reports.domain.judging import PartReadings, judge
from reports.domain.limits import Limits
from reports.domain.limits_text import read_limits
from reports.domain.readings import Reading, ReadingName, Word, read_cell, read_unit
from reports.domain.verdicts import Judged, Verdict

FIXTURES = Path(__file__).resolve().parents[3] / "fixtures" / "limits"
METHODS = ("usc9", "usc10", "iowa-city")
"""Those that judge every type; the others leave some out."""

EVERY_METHOD = (*METHODS, "m14-b2", "epa", "toronto")


@cache
def limits(name: str) -> Limits:
    return read_limits((FIXTURES / f"{name}.toml").read_text(encoding="utf-8"))


def part(kind: str, **cells: str | Decimal) -> PartReadings:
    """Readings as a sheet would write them: relief="2.0", unit="kPa"; shutoff valve 2 holds."""
    readings: dict[ReadingName, Reading] = {ReadingName.SHUTOFF2_TIGHT: Word.YES}
    unit = read_unit(column="unit", text=str(cells.pop("unit", "")))
    for column, text in cells.items():
        name = ReadingName(column)
        readings[name] = (
            text
            if isinstance(text, Decimal)
            else read_cell(name=name, column=column, text=text).reading
        )
    return PartReadings(assembly_type=AssemblyType(kind), unit=unit, readings=readings)


def verdict(method: str, kind: str, **cells: str | Decimal) -> Verdict:
    return judge(limits(method), part(kind, **cells))


def outcome(method: str, kind: str, **cells: str | Decimal) -> str:
    return verdict(method, kind, **cells).outcome.value


def criterion(found: Verdict, name: str) -> Judged:
    (judged,) = [judged for judged in found.criteria if judged.name == name]
    return judged
