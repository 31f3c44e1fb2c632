"""Acceptance limits as data: what a method asks of each reading, from when, and who says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType

from registry.domain.kinds import AssemblyType
from reports.domain.readings import ReadingName, Unit

KPA_PER_PSI = Decimal("6.894757")
"""The one factor by which a psi limit becomes a kPa limit; the product is never rounded."""


class Family(StrEnum):
    """A body that is tested in one way: the line-size assembly or the bypass of a detector.

    *detector* is no body: what a method asks of a detector as a whole, its meter.
    """

    RP = "RP"
    DC = "DC"
    PVB = "PVB"
    SVB = "SVB"
    SINGLE_CHECK = "single check"
    DETECTOR = "detector"


class Body(StrEnum):
    """Which water-carrying body of an assembly a reading belongs to."""

    MAIN = "main"
    BYPASS = "bypass"


class Rule(StrEnum):
    """How a reading is held against a limit; *recorded* gives none and asks only for a figure."""

    AT_LEAST = "at least"
    DIFFERENCE_AT_LEAST = "difference at least"
    ABOVE_OTHER = "above other"
    YES = "yes"
    RECORDED = "recorded"


class Mark(StrEnum):
    """How far the source of a figure is to be trusted."""

    READ = "read"
    MEMORY = "from memory"
    PRACTICE = "common practice"


@dataclass(frozen=True, kw_only=True)
class Criterion:
    """One thing a method asks of one body.

    `limit` is in the unit of its method and None where a word or another reading decides.
    `other` is the second reading of a difference or a comparison.
    """

    family: Family
    name: str
    rule: Rule
    reading: ReadingName
    other: ReadingName | None
    limit: Decimal | None
    required: bool
    citation: str
    mark: Mark

    @property
    def source(self) -> str:
        """The citation with its mark, as printed beside a figure."""
        return f"{self.citation} [{self.mark}]"


@dataclass(frozen=True, kw_only=True)
class Steps:
    """The order in which a method takes the readings of one body, and who says so."""

    family: Family
    readings: tuple[ReadingName, ...]
    citation: str
    mark: Mark

    @property
    def source(self) -> str:
        """The citation with its mark."""
        return f"{self.citation} [{self.mark}]"


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The acceptance limits of one method, applying to tests from `effective_on`.

    `steps` is the order of its steps by body; `absent` says why it judges a body not at all.
    `sha256` is that of the text they were read from: a stored verdict names it.
    """

    name: str
    title: str
    unit: Unit
    effective_on: date
    effective_note: str
    caution: str
    criteria: tuple[Criterion, ...]
    steps: tuple[Steps, ...] = ()
    absent: Mapping[Family, str] = field(default_factory=dict)
    sha256: str = ""

    def judges(self, family: Family) -> bool:
        """Whether it says of at least one reading of the body what is enough."""
        return any(c.rule is not Rule.RECORDED for c in self.of(family))

    def of(self, family: Family) -> tuple[Criterion, ...]:
        """The criteria of a family in the method's order; empty where it gives none."""
        return tuple(c for c in self.criteria if c.family is family)


BODIES: Mapping[AssemblyType, tuple[tuple[Body, Family], ...]] = MappingProxyType(
    {
        AssemblyType.RP: ((Body.MAIN, Family.RP),),
        AssemblyType.DC: ((Body.MAIN, Family.DC),),
        AssemblyType.PVB: ((Body.MAIN, Family.PVB),),
        AssemblyType.SVB: ((Body.MAIN, Family.SVB),),
        AssemblyType.RPDA: ((Body.MAIN, Family.RP), (Body.BYPASS, Family.RP)),
        AssemblyType.DCDA: ((Body.MAIN, Family.DC), (Body.BYPASS, Family.DC)),
        AssemblyType.RPDA_II: ((Body.MAIN, Family.RP), (Body.BYPASS, Family.SINGLE_CHECK)),
        AssemblyType.DCDA_II: ((Body.MAIN, Family.DC), (Body.BYPASS, Family.SINGLE_CHECK)),
    }
)
"""The bodies of each type with a field test; a type II bypass has a single check (from memory)."""

DETECTORS = frozenset(t for t, bodies in BODIES.items() if len(bodies) > 1)


def limit_in(unit: Unit, *, limit: Decimal, limits: Limits) -> Decimal:
    """A limit of the method in the unit a gauge recorded, unrounded.

    2.0 psi is 13.789514 kPa: 13.8 kPa meets it, 13.7 kPa does not.
    Raises ValueError for limits written in kPa and a reading in psi: nothing is converted then.
    """
    if (unit is Unit.KPA) == (limits.unit is Unit.KPA):
        return limit
    if limits.unit is Unit.KPA:
        raise ValueError(f"the limits of {limits.name} are in kPa; record the readings in kPa")
    return limit * KPA_PER_PSI
