"""Replay of a premises and of its services: what is owed of each, as of a day and as known then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from registry.domain.kinds import Hazard
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ladders import LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.matching import SubjectKind
from scheduling.domain.obligations import Obligation, ObligationKey, Origin
from scheduling.domain.places import (
    Place,
    Service,
    days_of_change,
    known,
    premises_attributes,
    service_attributes,
)
from scheduling.domain.protection import Asked, Lack, Turn, lacks_now, turns_of
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Rulebook, WorkKind
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline, known_entries
from scheduling.domain.workdays import Holidays

Left = Mapping[ObligationKey, Sequence[LeftRung]]
NOTHING_LEFT: Left = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """The rulebooks of a program from their days on, and the days its office is closed."""

    rulebooks: tuple[RulebookFrom, ...]
    holidays: Holidays = ()

    def ask_of(self, subject: SubjectKind) -> bool:
        """Return whether any of them ever asked anything of such a subject."""
        return any(entry.rulebook.kinds_of(subject) for entry in self.rulebooks)

    def timeline(self, attributes: tuple[AttributesFrom, ...], *, recorded_on: date) -> Timeline:
        """Return the dated attributes of a subject under these rules."""
        return Timeline(
            attributes=attributes,
            rulebooks=self.rulebooks,
            recorded_on=recorded_on,
            holidays=self.holidays,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lived:
    """What replay found of a service or a premises, and when protection began to lack.

    `lacks_now`: what lacks on the day itself. `book` is the rulebook in force then; `works` are
    its kinds and those of earlier ones.
    """

    ledger: Ledger
    turns: tuple[Turn, ...]
    lacks_now: tuple[Lack, ...]
    book: Rulebook
    works: tuple[WorkKind, ...]

    def lacks_of(self, obligation: Obligation) -> tuple[Lack, ...]:
        """Return what lacks while it is owed; of one that closed, what lacked when it opened."""
        if obligation.key.origin is not Origin.UNPROTECTED:
            return ()
        if obligation.closed_on is None and self.lacks_now:
            return self.lacks_now
        opened = obligation.key.origin_on
        return next((turn.lacks for turn in self.turns if turn.on == opened), ())


def replay_service(
    *,
    place: Place,
    service: Service,
    rules: Rules,
    as_of: date,
    known_at: datetime | None = None,
    left: Left = NOTHING_LEFT,
) -> Lived:
    """Return what is and was owed of a service connection.

    Example: a service recorded 2026-03-02 without an assembly, protection asked for within
    30 days: protection owed from that day, due 2026-04-01; an RP installed on 2026-03-20 meets it.
    """
    attributes = tuple(
        AttributesFrom(
            on=on, attributes=service_attributes(service, on, place=place, known_at=known_at)
        )
        for on in _days(place, services=[service], begins=service.recorded_on, known_at=known_at)
    )
    asked = Asked(
        place=place,
        services=(service,),
        subject=SubjectKind.CONNECTION,
        rulebooks=rules.rulebooks,
        as_of=as_of,
        known_at=known_at,
    )
    facts = [*service.facts, *_closing(place)]
    timeline = rules.timeline(attributes, recorded_on=service.recorded_on)
    return _lived(asked=asked, timeline=timeline, facts=facts, left=left)


def replay_premises(
    *,
    place: Place,
    rules: Rules,
    as_of: date,
    known_at: datetime | None = None,
    left: Left = NOTHING_LEFT,
) -> Lived:
    """Return what is and was owed of a premises as a whole: surveys, and protection of any service
    where the rulebook asks it of the premises.

    Example: surveyed 2024-02-29 under a rule of every two years: the next is due 2026-02-28.
    """
    services = tuple(known(place.services, at=known_at))
    days = _days(place, services=services, begins=place.recorded_on, known_at=known_at)
    attributes = tuple(
        AttributesFrom(on=on, attributes=premises_attributes(place, on, known_at=known_at))
        for on in days
    )
    asked = Asked(
        place=place,
        services=services,
        subject=SubjectKind.PREMISES,
        rulebooks=rules.rulebooks,
        as_of=as_of,
        known_at=known_at,
    )
    facts = [*place.facts, *_surveys(place), *_closing(place)]
    timeline = rules.timeline(attributes, recorded_on=place.recorded_on)
    return _lived(asked=asked, timeline=timeline, facts=facts, left=left)


def _days(
    place: Place, *, services: Iterable[Service], begins: date, known_at: datetime | None
) -> list[date]:
    """Return the days from which attributes are told apart, the first holding from the start."""
    return sorted({*days_of_change(place, services=services, known_at=known_at), begins})


def _surveys(place: Place) -> list[Fact]:
    """Return the surveys made: findings about the premises that no file merely states."""
    return [
        Fact(kind=FactKind.ASSESSED, on=finding.on, recorded_at=finding.recorded_at)
        for finding in place.findings
        if not finding.is_stated and finding.hazard is not Hazard.NOT_ASSESSED
    ]


def _closing(place: Place) -> list[Fact]:
    """Return the end of the account: what is open there is excused."""
    if place.closed_on is None:
        return []
    return [Fact(kind=FactKind.REMOVED, on=place.closed_on)]


def _lived(*, asked: Asked, timeline: Timeline, facts: list[Fact], left: Left) -> Lived:
    turns = turns_of(asked)
    ledger = replay(
        timeline=timeline,
        facts=[*_until(asked.place.closed_on, facts), *(turn.fact() for turn in turns)],
        left=left,
        as_of=asked.as_of,
        known_at=asked.known_at,
    )
    reasons = [reason for turn in turns for reason in turn.reasons()]
    told = sorted([*reasons, *ledger.reasons], key=lambda reason: reason.date)
    books = known_entries(entries=asked.rulebooks, as_of=asked.as_of, known_at=asked.known_at)
    works = {work.name: work for book in books for work in book.rulebook.kinds_of(asked.subject)}
    return Lived(
        ledger=replace(ledger, reasons=tuple(told)),
        turns=tuple(turns),
        lacks_now=lacks_now(asked),
        book=books[-1].rulebook,
        works=tuple(works.values()),
    )


def _until(closed_on: date | None, facts: Iterable[Fact]) -> list[Fact]:
    """Return the facts up to the end of the account; a survey after it was made all the same."""
    if closed_on is None:
        return list(facts)
    return [fact for fact in facts if fact.on <= closed_on]
