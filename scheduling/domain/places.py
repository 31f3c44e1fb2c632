"""A premises and its services as an office records them, and what they were on any day.

Plain values with the moment each was recorded, so that a day can be told as it was then known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol, TypeVar

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.dwellings import is_residence
from scheduling.domain.facts import Fact, FactKind, facts_known
from scheduling.domain.matching import Attributes, SubjectKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A hazard found from a day on; `is_stated`: a file says so, nobody surveyed that day."""

    on: date
    hazard: Hazard
    recorded_at: datetime | None = None
    is_stated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GuardBefore:
    """What an assembly was before a change that holds from a day on."""

    until: date
    type: AssemblyType
    protects: Protects
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """An assembly on a service, with its own findings and facts.

    `recorded_on` is the day it was entered; it is taken to stand there since, or since the
    first day anything is known of it. `was`: what it was before, oldest first.
    """

    type: AssemblyType
    protects: Protects
    hazard: Hazard
    recorded_on: date
    recorded_at: datetime | None = None
    findings: tuple[Finding, ...] = ()
    facts: tuple[Fact, ...] = ()
    was: tuple[GuardBefore, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceShape:
    """What a service connection was from a day on."""

    on: date
    kind: ServiceKind
    has_chemicals: bool | None = None
    runs_part_year: bool | None = None
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """A service connection: its shapes, oldest first, what stands on it, and its own facts."""

    key: int
    recorded_on: date
    shapes: tuple[ServiceShape, ...]
    guards: tuple[Guard, ...] = ()
    facts: tuple[Fact, ...] = ()
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UseBefore:
    """What a premises was used for before a change that holds from a day on."""

    until: date
    use: str
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A premises: its use, the findings about it as a whole, its services and its own facts.

    `was`: its uses before, oldest first.
    """

    key: int
    use: str
    recorded_on: date
    findings: tuple[Finding, ...] = ()
    services: tuple[Service, ...] = ()
    facts: tuple[Fact, ...] = ()
    closed_on: date | None = None
    recorded_at: datetime | None = None
    was: tuple[UseBefore, ...] = ()


class _Recorded(Protocol):
    @property
    def recorded_at(self) -> datetime | None: ...


R = TypeVar("R", bound=_Recorded)


def known(entries: Iterable[R], *, at: datetime | None) -> list[R]:
    """Return what was recorded by a moment (None: by now)."""
    return [
        entry
        for entry in entries
        if at is None or entry.recorded_at is None or entry.recorded_at <= at
    ]


@dataclass(frozen=True, slots=True)
class InPlace:
    """From when until when an assembly stands in its place."""

    since: date
    until: date | None

    def is_there(self, on: date) -> bool:
        """Return whether it stands there on a day; on the day it is removed it does not."""
        return self.since <= on and (self.until is None or on < self.until)


def in_place(guard: Guard, *, known_at: datetime | None) -> InPlace:
    """Return from when to when an assembly stands there, as known at a moment."""
    facts = facts_known(facts=guard.facts, known_at=known_at)
    installed = [fact.on for fact in facts if fact.kind is FactKind.INSTALLED]
    since = min(installed) if installed else min([guard.recorded_on, *(f.on for f in facts)])
    removed = [fact.on for fact in facts if fact.kind is FactKind.REMOVED]
    return InPlace(since, min(removed, default=None))


def kind_of_guard(
    guard: Guard, on: date, *, known_at: datetime | None
) -> tuple[AssemblyType, Protects]:
    """Return what an assembly was on a day: its type, and what it protects."""
    for before in guard.was:
        if on < before.until or not known([before], at=known_at):
            return before.type, before.protects
    return guard.type, guard.protects


def use_on(place: Place, on: date, *, known_at: datetime | None) -> str:
    """Return what a premises was used for on a day, as known at a moment."""
    for before in place.was:
        if on < before.until or not known([before], at=known_at):
            return before.use
    return place.use


def hazard_on(
    on: date,
    *,
    place: Place,
    guards: Sequence[Guard],
    known_at: datetime | None,
) -> Hazard:
    """Return the hazard of a service, or of a premises with all its guards, on a day.

    The findings about the premises decide; where there are none, the highest that is found
    of what stands there. One assembly nobody assessed leaves the whole not assessed.
    """
    own = _latest(place.findings, on=on, known_at=known_at)
    if own is not None:
        return own
    told = known(guards, at=known_at)
    there = [guard for guard in told if in_place(guard, known_at=known_at).is_there(on)]
    found = {_latest(g.findings, on=on, known_at=known_at) or g.hazard for g in there}
    if Hazard.HIGH in found:
        return Hazard.HIGH
    return Hazard.LOW if found == {Hazard.LOW} else Hazard.NOT_ASSESSED


def _latest(findings: Iterable[Finding], *, on: date, known_at: datetime | None) -> Hazard | None:
    """Return the finding that holds on a day; of several of one day the last."""
    held = [finding for finding in known(findings, at=known_at) if finding.on <= on]
    return max(enumerate(held), key=lambda pair: (pair[1].on, pair[0]))[1].hazard if held else None


def shape_on(service: Service, on: date, *, known_at: datetime | None) -> ServiceShape:
    """Return what a service was on a day; its first shape holds from the start."""
    shapes = known(service.shapes, at=known_at) or list(service.shapes[:1])
    begun = [shape for shape in shapes if shape.on <= on]
    return begun[-1] if begun else shapes[0]


def service_attributes(
    service: Service, on: date, *, place: Place, known_at: datetime | None
) -> Attributes:
    """Return what rules ask about a service, as it was on a day."""
    shape = shape_on(service, on, known_at=known_at)
    use = use_on(place, on, known_at=known_at)
    return Attributes(
        subject=SubjectKind.CONNECTION,
        hazard=hazard_on(on, place=place, guards=service.guards, known_at=known_at),
        service=shape.kind,
        has_chemicals=shape.has_chemicals,
        runs_part_year=shape.runs_part_year,
        use=use,
        is_residential=is_residence(use),
    )


def premises_attributes(place: Place, on: date, *, known_at: datetime | None) -> Attributes:
    """Return what rules ask about a premises, as it was on a day."""
    guards = [guard for service in place.services for guard in service.guards]
    use = use_on(place, on, known_at=known_at)
    return Attributes(
        subject=SubjectKind.PREMISES,
        hazard=hazard_on(on, place=place, guards=guards, known_at=known_at),
        use=use,
        is_residential=is_residence(use),
    )


def days_of_change(
    place: Place, *, services: Iterable[Service], known_at: datetime | None
) -> set[date]:
    """Return the days on which hazard, use, kind or what stands there may have changed."""
    days = {finding.on for finding in known(place.findings, at=known_at)}
    days |= {before.until for before in known(place.was, at=known_at)}
    for service in services:
        days |= {shape.on for shape in known(service.shapes, at=known_at)}
        for guard in known(service.guards, at=known_at):
            stands = in_place(guard, known_at=known_at)
            days |= {finding.on for finding in known(guard.findings, at=known_at)}
            days |= {before.until for before in known(guard.was, at=known_at)}
            days |= {stands.since} if stands.until is None else {stands.since, stands.until}
    return days
