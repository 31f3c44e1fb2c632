"""What premises and their services owe in a group: who is in it, and what a decision would make.

A group catches what is owed or to come when it is decided: a survey of each premises that the
rulebook asks one of, protection of each service that lacks it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from django.db.models import F, Q
from django.db.models.functions import Coalesce

from registry.models import Premises, Program
from scheduling.domain.decisions import OF_ASSEMBLIES_ONLY, Decision, Subject
from scheduling.domain.facts import FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation as Owed
from scheduling.domain.place_replay import replay_premises, replay_service
from scheduling.domain.places import Place
from scheduling.models import Obligation
from scheduling.queries.groups import TESTS, Wanted, brought, sites_of
from scheduling.queries.places import places, rules_of
from scheduling.queries.rulebooks import books_of

_ROW: Final = (
    "connection_id",
    "premises_id",
    "connection__premises_id",
    "kind",
    "due_on",
    "connection__kind",
    "connection__name",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceMember:
    """A premises or a service that owes something: which, where, what, and by when."""

    subject: Subject
    premises_id: int
    kinds: tuple[str, ...]
    due_on: date
    service: str | None

    @property
    def name(self) -> str:
        """`Survey of the premises`, `Protection of the fire service (north)`."""
        return named(" and ".join(self.kinds), service=self.service)


@dataclass(frozen=True, kw_only=True)
class PlaceForeseen:
    """Where a premises or a service would stand with a decision."""

    due_on: date | None
    standing: str
    questions: tuple[str, ...]


def named(what: str, *, service: str | None) -> str:
    """Return the name of what a premises (None) or a service owes."""
    of = "the premises" if service is None else f"the {service}"
    return f"{what.capitalize() or 'What is owed'} of {of}"


def service_words(kind: str, name: str) -> str:
    """A service in a sentence."""
    said = f"{kind} service" if kind else "service of unknown kind"
    return f"{said} ({name})" if name else said


def is_of_places(kind: FactKind) -> bool:
    """Return whether such a decision means anything for a premises or a service."""
    return kind not in OF_ASSEMBLIES_ONLY


def places_in(program: Program, wanted: Wanted) -> list[PlaceMember]:
    """Return the premises and services that are meant and owe something, by address; one query.

    Of a service named by its kind only such services, and no survey; of serials nobody.
    """
    if wanted.of == TESTS or wanted.is_empty or wanted.serials:
        return []
    rows = (
        _owed(program, wanted)
        .values_list(*_ROW)
        .order_by("address", "where_id", F("connection").asc(nulls_first=True), "due_on", "pk")
    )
    found: dict[Subject, PlaceMember] = {}
    for connection_id, premises_id, at, kind, due_on, service, name in rows:
        own = connection_id is None
        subject = Subject("premises", premises_id) if own else Subject("connection", connection_id)
        one = found.get(subject)
        if one is not None:
            found[subject] = replace(one, kinds=tuple(sorted({*one.kinds, kind})))
            continue
        found[subject] = PlaceMember(
            subject=subject,
            premises_id=premises_id if own else at,
            kinds=(kind,),
            due_on=due_on,
            service=None if own else service_words(service, name),
        )
    return list(found.values())


def _owed(program: Program, wanted: Wanted) -> Any:
    rows: Any = Obligation.objects.filter(
        program=program, assembly__isnull=True, closed_on__isnull=True
    ).annotate(
        address=Coalesce("premises__address", "connection__premises__address"),
        where_id=Coalesce("premises_id", "connection__premises_id"),
    )
    if wanted.service is not None:
        rows = rows.filter(connection__kind=wanted.service)
    if wanted.everybody:
        return rows
    sites = Premises.objects.filter(sites_of(wanted), program=program).order_by().values("pk")
    return rows.filter(Q(premises__in=sites) | Q(connection__premises__in=sites))


def foreseen_at(
    *, program: Program, members: Sequence[PlaceMember], decision: Decision | None, today: date
) -> dict[Subject, PlaceForeseen]:
    """Return where they would stand with a decision (None: as they are); writes nothing.

    With one that begins on a day to come: where they would stand on that day.
    """
    day = today if decision is None else max(today, decision.on)
    rules = rules_of(program=program, books=books_of(program))
    subjects = {member.subject for member in members}
    found: dict[Subject, PlaceForeseen] = {}
    for place in places(program=program, premises_ids={one.premises_id for one in members}):
        own = Subject("premises", place.key)
        if own in subjects:
            lived = replay_premises(
                place=replace(place, facts=(*place.facts, *brought(decision))),
                rules=rules,
                as_of=day,
            )
            found[own] = _stands(lived.ledger, day=day)
        for subject, ledger in _services(place, subjects, decision=decision, rules=rules, day=day):
            found[subject] = _stands(ledger, day=day)
    return found


def _services(
    place: Place, subjects: set[Subject], *, decision: Decision | None, rules: Any, day: date
) -> Iterator[tuple[Subject, Ledger]]:
    for service in place.services:
        subject = Subject("connection", service.key)
        if subject in subjects:
            told = replace(service, facts=(*service.facts, *brought(decision)))
            others = tuple(told if one is service else one for one in place.services)
            lived = replay_service(
                place=replace(place, services=others), service=told, rules=rules, as_of=day
            )
            yield subject, lived.ledger


def _stands(ledger: Ledger, *, day: date) -> PlaceForeseen:
    owed: list[Owed] = []
    for kind in ledger.kinds:
        one = ledger.open_of(kind) or ledger.coming_of(kind)
        owed += [one] if one is not None else []
    first = min(owed, key=lambda one: one.due_on, default=None)
    if first is None:
        standing = "exempt" if ledger.is_exempt else "good"
    elif not first.is_open:
        standing = "good"
    else:
        standing = "overdue" if first.due_on < day else "due"
    return PlaceForeseen(
        due_on=first.due_on if first else None, standing=standing, questions=ledger.questions
    )
