"""A street whose premises owe surveys and protection, and what is decided about all of them."""

from __future__ import annotations

from datetime import date

from registry.models import Premises, Program, ServiceConnection
from scheduling.actions.by_hand.decisions import decide, end_decision
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.actions.opening import open_obligations
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.facts import FactKind
from scheduling.domain.place_replay import replay_premises as pure_premises
from scheduling.domain.place_replay import replay_service as pure_service
from scheduling.models import Decision, Obligation
from scheduling.queries.group_places import places_in
from scheduling.queries.groups import BOTH, Wanted, group_of
from scheduling.queries.places import places, rules_of
from scheduling.queries.rulebooks import books_of
from tests.scheduling.test_premises_owed import found, stored
from tests.scheduling.waterworks import START, hand, installed, served

DUE = date(2026, 4, 1)
"""2 March + 30 days: the survey nobody made yet, and the protection that a DC is not."""

TODAY = date(2026, 3, 10)
COURT = Wanted(street="larch court", of=BOTH)


def court(program: Program, number: int = 3) -> list[ServiceConnection]:
    """So many premises at Larch Court, each with a DC on its domestic service: all owe both."""
    made = [served(program, n + 1) for n in range(number)]
    for service in made:
        installed(service, "DC", on=START)
    follow_premises(program=program, premises_ids=[s.premises_id for s in made], today=START)
    open_obligations(program=program, as_of=START)
    return made


def words(program: Program, wanted: Wanted = COURT) -> tuple[str, ...]:
    ids = group_of(program, wanted).values_list("pk", flat=True)
    return (*map(str, ids), *(one.subject.word for one in places_in(program, wanted)))


def decided(
    program: Program, kind: str, *, on: date = TODAY, until: date | None = None,
    today: date = TODAY, members: tuple[str, ...] | None = None,
) -> Decision:  # fmt: skip
    told = Told(
        kind=FactKind(kind), on=on, until=until, reason="the street is open",
        approved_by="J. Marsh, board", group="Larch Court",
        members=words(program) if members is None else members,
    )  # fmt: skip
    return decide(program=program, told=told, chosen_by=COURT.words, today=today, hand=hand(today))


def ended(row: Decision, *, on: date, today: date | None = None) -> int:
    return end_decision(decision=row, on=on, today=today or on, hand=hand(today or on))


def due(program: Program) -> set[tuple[str, date]]:
    """What is owed of premises and services, each kind with its due dates."""
    rows = Obligation.objects.filter(program=program, assembly=None, closed_on=None)
    return set(rows.values_list("kind", "due_on"))


def both(day: date) -> set[tuple[str, date]]:
    return {("survey", day), ("protection", day)}


def agrees(program: Program, *, on: date) -> None:
    """What is stored of every premises and service is what replay finds from the stored facts."""
    ids = list(Premises.objects.filter(program=program).values_list("pk", flat=True))
    rules = rules_of(program=program, books=books_of(program))
    for place in places(program=program, premises_ids=ids):
        said = pure_premises(place=place, rules=rules, as_of=on)
        assert stored(list(Obligation.objects.filter(premises=place.key))) == found(said.ledger)
        for service in place.services:
            said = pure_service(place=place, service=service, rules=rules, as_of=on)
            rows = list(Obligation.objects.filter(connection=service.key))
            assert stored(rows) == found(said.ledger)
