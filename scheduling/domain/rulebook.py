"""The rules of a program as plain values, every one with its citation."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.cycles import Cycle
from scheduling.domain.facts import FactKind
from scheduling.domain.ladders import Ladder

TEST = "test"
"""The kind of work that every rulebook asks for first: the field test."""


class Regime(StrEnum):
    """How a due date follows from what was done before."""

    ROLLING = "rolling"
    ANNIVERSARY = "anniversary"
    SEASON = "season"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attributes:
    """What rules ask about a subject, as it is on one day."""

    type: AssemblyType
    hazard: Hazard = Hazard.NOT_ASSESSED
    service: ServiceKind = ServiceKind.UNKNOWN
    protects: Protects = Protects.CONTAINMENT

    @property
    def degree(self) -> Hazard:
        """The hazard rules go by: what is not assessed is treated as high."""
        return Hazard.HIGH if self.hazard is Hazard.NOT_ASSESSED else self.hazard


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """Which subjects a rule catches; an empty set asks nothing."""

    types: frozenset[AssemblyType] = frozenset()
    hazards: frozenset[Hazard] = frozenset()
    services: frozenset[ServiceKind] = frozenset()
    protects: frozenset[Protects] = frozenset()

    def catches(self, attributes: Attributes) -> bool:
        """Return whether a subject with these attributes falls under the rule."""
        return (
            (not self.types or attributes.type in self.types)
            and (not self.hazards or attributes.degree in self.hazards)
            and (not self.services or attributes.service in self.services)
            and (not self.protects or attributes.protects in self.protects)
        )


@dataclass(frozen=True, slots=True)
class MonthDay:
    """A day of every year; 29 February and the like are clamped to the month's end."""

    month: int
    day: int

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleRule:
    """How often a kind of work comes round.

    `opens_days`: days before the due date that it opens. `early_days`: the window of an
    anniversary. `cap`: the longest time since the last pass. `season_opens` and
    `credit_from` (the day after the cut-off) belong to a season.
    """

    id: str
    regime: Regime
    cycle: Cycle
    citation: str
    kind: str = TEST
    match: Match = field(default_factory=Match)
    opens_days: int = 0
    early_days: int = 0
    cap: Cycle | None = None
    season_opens: MonthDay | None = None
    credit_from: MonthDay | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EventRule:
    """An event that asks for a kind of work within some days."""

    id: str
    event: FactKind
    days: int
    citation: str
    kind: str = TEST
    match: Match = field(default_factory=Match)


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysRule:
    """A number of calendar days for a purpose: cure, grace, transition, no date known."""

    id: str
    days: int
    citation: str
    match: Match = field(default_factory=Match)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExemptRule:
    """Subjects of which a kind of work is not asked."""

    id: str
    citation: str
    kind: str = TEST
    match: Match = field(default_factory=Match)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkKind:
    """A kind of obligation and the kinds of work that meet it."""

    name: str
    met_by: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Credentials:
    """What a field test must be backed by, in months."""

    gauge_months: int
    citation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rulebook:
    """A whole rulebook; the first rule of a list that catches a subject decides."""

    name: str
    title: str
    method: str
    method_citation: str
    kinds: tuple[WorkKind, ...]
    cycles: tuple[CycleRule, ...]
    events: tuple[EventRule, ...]
    exempt: tuple[ExemptRule, ...]
    cures: tuple[DaysRule, ...]
    grace: DaysRule
    no_date: DaysRule
    transition: DaysRule
    ladder: Ladder
    credentials: Credentials
    gaps: tuple[str, ...] = ()
    edition: int = 1

    @property
    def label(self) -> str:
        """The name with its edition, which tells two versions apart."""
        return self.name if self.edition == 1 else f"{self.name} (edition {self.edition})"

    @property
    def main_kind(self) -> str:
        """The kind of work a standing speaks of."""
        return self.kinds[0].name

    def exempt_rule(self, *, kind: str, attributes: Attributes) -> ExemptRule | None:
        """Return the rule that exempts a subject from a kind of work, or None."""
        mine = (rule for rule in self.exempt if rule.kind == kind)
        return next((rule for rule in mine if rule.match.catches(attributes)), None)

    def cycle_rule(self, *, kind: str, attributes: Attributes) -> CycleRule | None:
        """Return the cycle that holds for a subject; None: that kind of work is not asked."""
        if self.exempt_rule(kind=kind, attributes=attributes) is not None:
            return None
        mine = (rule for rule in self.cycles if rule.kind == kind)
        return next((rule for rule in mine if rule.match.catches(attributes)), None)

    def event_rule(self, *, event: FactKind, kind: str, attributes: Attributes) -> EventRule | None:
        """Return the rule that asks for work after an event, or None."""
        mine = (rule for rule in self.events if rule.event is event and rule.kind == kind)
        return next((rule for rule in mine if rule.match.catches(attributes)), None)

    def cure_rule(self, attributes: Attributes) -> DaysRule:
        """Return the days in which a failure must be cured; the last rule catches the rest."""
        caught = (rule for rule in self.cures if rule.match.catches(attributes))
        return next(caught, self.cures[-1])

    def uncovered(self) -> list[Attributes]:
        """Return the subjects that no cycle and no exemption of the main kind catches."""
        return [
            attributes
            for attributes in every_subject()
            if self.exempt_rule(kind=self.main_kind, attributes=attributes) is None
            and self.cycle_rule(kind=self.main_kind, attributes=attributes) is None
        ]


@lru_cache(maxsize=1)
def every_subject() -> tuple[Attributes, ...]:
    """Return every combination of attributes a rule may ask about."""
    return tuple(_combinations(AssemblyType))


def _combinations(types: Iterable[AssemblyType]) -> Iterable[Attributes]:
    for type_ in types:
        for hazard in (Hazard.HIGH, Hazard.LOW):
            for service in ServiceKind:
                for protects in Protects:
                    yield Attributes(type=type_, hazard=hazard, service=service, protects=protects)
