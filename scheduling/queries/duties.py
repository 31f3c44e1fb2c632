"""What a premises and its services owe on a day, as known at a moment: for pages, by replay."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from registry.models import Premises, ServiceConnection
from scheduling.domain.ladders import Ladder, LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.matching import SubjectKind
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.place_replay import Lived, replay_premises, replay_service
from scheduling.domain.places import known
from scheduling.domain.protection import Lack
from scheduling.domain.reasons import Reason
from scheduling.domain.rulebook import PROTECTION, SURVEY
from scheduling.queries.places import places, rules_of
from scheduling.queries.rulebooks import NoRulebookError, books_of

Left = Mapping[ObligationKey, Sequence[LeftRung]]
LeftBySubject = Mapping[tuple[SubjectKind, int], Left]
"""The rungs that left, by what they are about and the obligation they count for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """What replay found of a premises, or of one of its services, with the rungs that left."""

    service: ServiceConnection | None
    lived: Lived
    left: Left

    def duties(self) -> Iterator[Duty]:
        """Yield what is owed or comes."""
        return _duties(self.lived, left=self.left, service=self.service)

    def past(self) -> Iterator[PastDuty]:
        """Yield what was owed and is closed, newest first."""
        return _past(self.lived, service=self.service)


@dataclass(frozen=True, slots=True, kw_only=True)
class PastDuty:
    """A work of a premises or a service that was owed and is closed, and why it closed."""

    service: ServiceConnection | None
    kind: str
    is_protection: bool
    is_survey: bool
    obligation: Obligation
    why: Reason | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """One kind of work of a premises or a service: what is owed or comes, and why.

    `lacks` is what lacks on the day; `left` the rungs that left for it.
    """

    service: ServiceConnection | None
    kind: str
    is_protection: bool
    is_survey: bool
    obligation: Obligation
    ladder: Ladder
    ledger: Ledger
    lacks: tuple[Lack, ...]
    left: Sequence[LeftRung]

    @property
    def standing(self) -> str:
        """`overdue`, `due`, or `good` while it is still to open."""
        if not self.obligation.is_open:
            return "good"
        return "overdue" if self.obligation.due_on < self.ledger.as_of else "due"

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Every step of the sum."""
        return self.ledger.reasons


def duties_at(
    premises: Premises,
    *,
    as_of: date,
    known_at: datetime | None = None,
    left: LeftBySubject | None = None,
) -> list[Duty]:
    """Return what is owed of a premises and each of its services, the premises first."""
    accounts = accounts_at(premises, as_of=as_of, known_at=known_at, left=left)
    return [duty for account in accounts for duty in account.duties()]


def accounts_at(
    premises: Premises,
    *,
    as_of: date,
    known_at: datetime | None = None,
    left: LeftBySubject | None = None,
) -> list[Account]:
    """Return the account of a premises and of each of its services, the premises first.

    Without a rulebook, or where it asks nothing of them, there is none and little is read.
    """
    try:
        books = books_of(premises.program)
    except NoRulebookError:
        return []
    rules = rules_of(program=premises.program, books=books)
    asks_premises = rules.ask_of(SubjectKind.PREMISES)
    asks_services = rules.ask_of(SubjectKind.CONNECTION)
    if not asks_premises and not asks_services:
        return []
    (place,) = places(program=premises.program, premises_ids=[premises.pk])
    if not known([place], at=known_at):
        return []
    gone = left or {}
    found: list[Account] = []
    if asks_premises:
        mine = gone.get((SubjectKind.PREMISES, premises.pk), {})
        lived = replay_premises(place=place, rules=rules, as_of=as_of, known_at=known_at, left=mine)
        found.append(Account(service=None, lived=lived, left=mine))
    services = {row.pk: row for row in premises.connections.all()} if asks_services else {}
    for service in known(place.services, at=known_at) if asks_services else ():
        mine = gone.get((SubjectKind.CONNECTION, service.key), {})
        lived = replay_service(
            place=place, service=service, rules=rules, as_of=as_of, known_at=known_at, left=mine
        )
        found.append(Account(service=services[service.key], lived=lived, left=mine))
    return found


def _duties(lived: Lived, *, left: Left, service: ServiceConnection | None) -> Iterator[Duty]:
    ledger = lived.ledger
    for kind in ledger.kinds:
        owed = ledger.open_of(kind) or ledger.coming_of(kind)
        if owed is None:
            continue
        work = next(work for work in lived.works if work.name == kind)
        yield Duty(
            service=service,
            kind=kind,
            is_protection=PROTECTION in work.met_by,
            is_survey=SURVEY in work.met_by,
            obligation=owed,
            ladder=lived.book.ladder_for(kind=kind, attributes=ledger.attributes),
            ledger=ledger,
            lacks=lived.lacks_of(owed),
            left=left.get(owed.key, ()),
        )


def _past(lived: Lived, *, service: ServiceConnection | None) -> Iterator[PastDuty]:
    works = {work.name: work for work in lived.works}
    for owed in reversed(lived.ledger.obligations):
        if owed.closed_on is None:
            continue
        met_by = works[owed.kind].met_by if owed.kind in works else ()
        yield PastDuty(
            service=service,
            kind=owed.kind,
            is_protection=PROTECTION in met_by,
            is_survey=SURVEY in met_by,
            obligation=owed,
            why=_why_closed(lived.ledger, owed),
        )


def _why_closed(ledger: Ledger, owed: Obligation) -> Reason | None:
    ends = f"closed {owed.closed_how}"
    said = (
        reason
        for reason in ledger.reasons
        if reason.date == owed.closed_on and reason.arithmetic.endswith(ends)
    )
    return next(said, None)
