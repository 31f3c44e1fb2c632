"""Likely causes: what a failing reading or a symptom points to, who says so, how far to trust it.

The lines are data (fixtures/causes.toml). They say what to look at, never how to repair it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from enum import StrEnum

from registry.domain.kinds import AssemblyType
from reports.domain.limits import BODIES, KPA_PER_PSI, Body, Family


class When(StrEnum):
    """What about a reading calls for a line."""

    BELOW_LIMIT = "below limit"
    ABOVE = "above"
    FALLING = "falling"


class Trust(StrEnum):
    """How far the source of a line is to be trusted."""

    READ = "read"
    SECONDARY = "read, secondary"
    MEMORY = "from memory"
    PRACTICE = "common practice"


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One line: what is seen, and what it points to.

    `when` is None for a symptom, which no reading shows.
    """

    key: str
    families: frozenset[Family]
    readings: frozenset[str]
    when: When | None
    above_psi: Decimal | None
    seen: str
    points_to: tuple[str, ...]
    rarely: str
    source: str
    mark: Trust

    @property
    def words(self) -> str:
        """`Points to a restricted stem or guide, scale or corrosion; rarely the spring.`"""
        *first, last = self.points_to
        told = f"{', '.join(first)} or {last}" if first else last
        return f"Points to {told}{f'; rarely {self.rarely}' if self.rarely else ''}."

    @property
    def cite(self) -> str:
        """The source with its mark; a source that is its own mark is said once."""
        if self.source.casefold() == self.mark.value:
            return self.source
        return f"{self.source} [{self.mark}]"


@dataclass(frozen=True, kw_only=True)
class Causes:
    """All lines, and the caution that goes with any of them."""

    caution: str
    lines: tuple[Cause, ...]


@dataclass(frozen=True, kw_only=True)
class Shown:
    """One criterion of a verdict as it is kept: figures as text."""

    name: str
    reading: str
    met: bool | None


class CausesError(ValueError):
    """A file of causes that cannot be used: which line, and what is wrong with it."""


def read_causes(text: str) -> Causes:
    """The lines a TOML text holds. Raises CausesError."""
    try:
        data = tomllib.loads(text, parse_float=Decimal)
        readings = [_line(row, when=When(row["when"])) for row in data["reading"]]
        symptoms = [_line(row, when=None) for row in data["symptom"]]
        return Causes(caution=str(data["caution"]), lines=(*readings, *symptoms))
    except tomllib.TOMLDecodeError as error:
        raise CausesError(f"no TOML: {error}") from error
    except (KeyError, ValueError) as error:
        raise CausesError(f"a line lacks or misspells {error}") from error


def likely_causes(
    causes: Causes,
    *,
    type_: AssemblyType,
    unit: str,
    criteria: Sequence[Shown],
    falling: Collection[str] = (),
) -> tuple[Cause, ...]:
    """The lines that the readings of one test call for, each once, in the file's order.

    `falling` names readings whose course over the years clearly falls. An RP whose relief valve
    opened at 1.7 points to a restricted stem or guide.
    """
    called = [
        line
        for line in causes.lines
        if line.when is not None
        and any(_calls(line, one, type_=type_, unit=unit, falling=falling) for one in criteria)
    ]
    return tuple(called)


def symptoms_of(causes: Causes, *, type_: AssemblyType) -> tuple[Cause, ...]:
    """The lines on what may be seen at a type without any reading."""
    families = {family for _, family in BODIES.get(type_, ())}
    return tuple(line for line in causes.lines if line.when is None and line.families & families)


def causes_plain(causes: Causes, *, type_: AssemblyType) -> list[dict[str, object]]:
    """The lines for the readings of a type as JSON holds them, by reading with its prefix.

    A page that judges while it is typed in shows `words` and `cite` under a field.
    """
    return [
        {
            "key": line.key,
            "reading": prefix + name,
            "when": line.when.value,
            "above_psi": f"{line.above_psi:f}" if line.above_psi is not None else None,
            "words": line.words,
            "cite": line.cite,
        }
        for line in causes.lines
        if line.when is not None
        for prefix, family in _prefixed(type_)
        if family in line.families
        for name in sorted(line.readings)
    ]


def _calls(
    line: Cause, one: Shown, *, type_: AssemblyType, unit: str, falling: Collection[str]
) -> bool:
    for prefix, family in _prefixed(type_):
        bare = one.name.removeprefix("bypass_")
        if one.name != prefix + bare or family not in line.families or bare not in line.readings:
            continue
        if line.when is When.BELOW_LIMIT:
            return one.met is False
        if line.when is When.FALLING:
            return one.name in falling
        return _is_above(one.reading, unit=unit, psi=line.above_psi)
    return False


def _is_above(reading: str, *, unit: str, psi: Decimal | None) -> bool:
    try:
        figure = Decimal(reading)
    except InvalidOperation:
        return False
    if psi is None:
        return False
    return figure > (psi * KPA_PER_PSI if unit == "kPa" else psi)


def _prefixed(type_: AssemblyType) -> Iterator[tuple[str, Family]]:
    for body, family in BODIES.get(type_, ()):
        yield ("bypass_" if body is Body.BYPASS else ""), family


def _line(row: Mapping[str, object], *, when: When | None) -> Cause:
    families, points_to = row["families"], row["points_to"]
    if not isinstance(families, list) or not isinstance(points_to, list) or not points_to:
        raise ValueError("families or points_to of " + str(row.get("key")))
    readings = row.get("readings", [])
    if not isinstance(readings, list):
        raise ValueError("readings of " + str(row.get("key")))
    above = row.get("above_psi")
    if (when is When.ABOVE) != isinstance(above, Decimal):
        raise ValueError("above_psi of " + str(row["key"]))
    return Cause(
        key=str(row["key"]),
        families=frozenset(Family(str(one)) for one in families),
        readings=frozenset(str(one) for one in readings),
        when=when,
        above_psi=above if isinstance(above, Decimal) else None,
        seen=str(row["seen"]),
        points_to=tuple(str(one) for one in points_to),
        rarely=str(row.get("rarely", "")),
        source=str(row["source"]),
        mark=Trust(str(row["mark"])),
    )
