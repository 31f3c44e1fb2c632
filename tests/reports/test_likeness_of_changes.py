"""Dates worked out by likeness are those of replay after a person changed what stands there.

A service changed, a use changed, an extension decided and ended, assemblies merged and parted.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from registry.changes import Hand
from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, Program, ServiceConnection
from reports.merging.assemblies import merge_assemblies
from reports.merging.undoing import undo_merge
from scheduling.actions.by_hand.assemblies import change_service_from, keep_assembly
from scheduling.actions.by_hand.decisions import decide, end_decision
from scheduling.actions.by_hand.surveys import change_service, follow_premises
from scheduling.actions.by_hand.uses import keep_premises_from
from scheduling.actions.likenesses import mend_likeness
from scheduling.actions.recalculating import recalculate
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.facts import FactKind
from scheduling.models import Adoption, AssemblyState, Obligation, Rulebook
from tests.scheduling.office import made_assembly, made_program, recorded, replayed
from tests.scheduling.test_likeness import stored, told_apart, worked_out

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
CHANGED = TODAY + timedelta(days=1)
AT = datetime(2025, 11, 25, 12, tzinfo=UTC)
HAND = Hand(by="A. Clerk", at=AT, reason="in a test")
BOOKS = ("plain-rolling", "plain-anniversary", "plain-season")
SWAPS = {
    'every = "FREQ=YEARLY"': 'every = "FREQ=MONTHLY;INTERVAL=10"',
    "opens_days = 60": "opens_days = 50",
    "BYMONTHDAY=31": "BYMONTHDAY=15",
}
MORE = '\n[[exempt]]\nid = "fire lines"\nservices = ["fire"]\ncitation = "invented for this test"\n'
Lives = list[Assembly]
Act = Callable[[Program, Lives], None]


def office(book: str) -> tuple[Program, Lives]:
    """Six that differ in nothing but their serials: whatever is done touches the first two."""
    program = made_program(rulebook=book)
    found = []
    for number in range(6):
        one = made_assembly(program, serial=f"C{number}", type_=AssemblyType.DC, hazard=Hazard.LOW)
        days = (FactKind.INSTALLED, date(2023, 4, 20)), (FactKind.PASSED, date(2023, 4, 28))
        later = (FactKind.PASSED, date(2024, 4, 24)), (FactKind.PASSED, date(2025, 4, 22))
        recorded(one, *days, *later)
        found.append(one)
    replayed(found, as_of=TODAY)
    assert all(words for words, _ in stored(program).values())
    return program, found


def service_always(program: Program, lives: Lives) -> None:
    change_service(
        premises=lives[0].premises, connection=lives[0].connection,
        values={"kind": "fire", "has_chemicals": True}, today=TODAY, hand=HAND,
    )  # fmt: skip


def service_from_a_day(program: Program, lives: Lives) -> None:
    change_service_from(
        premises=lives[0].premises, connection=lives[0].connection,
        values={"kind": "irrigation"}, since=date(2025, 6, 1), today=TODAY, hand=HAND,
    )  # fmt: skip


def to_another_service(program: Program, lives: Lives) -> None:
    """The assembly stands on another connection of its premises, and always did."""
    fire = ServiceConnection.objects.create(premises=lives[0].premises, kind="fire", name="fire")
    keep_assembly(
        program=program, premises=lives[0].premises, assembly=lives[0], today=TODAY, hand=HAND,
        values={"maker": lives[0].maker, "serial": lives[0].serial, "connection": fire,
                "type": lives[0].type, "protects": lives[0].protects},
    )  # fmt: skip


def use_from_a_day(program: Program, lives: Lives) -> None:
    place = lives[0].premises
    values = {"use": "car wash", "account": "", "address": place.address, "city": place.city}
    keep_premises_from(
        program=program, premises=place, values=values, use_since=date(2025, 6, 1), today=TODAY,
        hand=HAND,
    )  # fmt: skip
    follow_premises(program=program, premises_ids=[place.pk], today=TODAY)


def extended(program: Program, lives: Lives) -> Any:
    told = Told(
        kind=FactKind.EXTENDED, on=TODAY, until=date(2026, 9, 1), reason="Street works",
        approved_by="B. Chief", members=(str(lives[0].pk), str(lives[1].pk)),
    )  # fmt: skip
    return decide(program=program, told=told, chosen_by="two", today=TODAY, hand=HAND)


def extended_and_ended(program: Program, lives: Lives) -> None:
    end_decision(decision=extended(program, lives), on=TODAY, today=TODAY, hand=HAND)


def held_ahead(program: Program, lives: Lives) -> None:
    told = Told(
        kind=FactKind.HELD, on=CHANGED, until=date(2026, 9, 1), reason="Street works",
        approved_by="B. Chief", members=(str(lives[0].pk),),
    )  # fmt: skip
    decide(program=program, told=told, chosen_by="one", today=TODAY, hand=HAND)


def merged(program: Program, lives: Lives) -> Any:
    recorded(lives[1], (FactKind.PASSED, date(2025, 5, 20)))
    replayed([lives[1]], as_of=TODAY)
    return merge_assemblies(
        program=program, kept_id=lives[0].pk, gone_id=lives[1].pk, from_gone=frozenset({"model"}),
        today=TODAY, hand=HAND,
    )  # fmt: skip


def merged_and_parted(program: Program, lives: Lives) -> None:
    undo_merge(merge=merged(program, lives), today=TODAY, hand=HAND)


ACTS: list[Act] = [
    service_always, service_from_a_day, to_another_service, use_from_a_day, extended,
    extended_and_ended, held_ahead, merged, merged_and_parted,
]  # fmt: skip


def adopt(program: Program) -> None:
    """Other rules in force from tomorrow, known today."""
    row = Adoption.objects.select_related("rulebook").get(program=program).rulebook
    text = row.text + MORE
    for old, new in SWAPS.items():
        text = text.replace(old, new)
    made = Rulebook.objects.create(
        name=row.name, edition=99, program=program, title=row.title, text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(), loaded_at=AT,
    )  # fmt: skip
    Adoption.objects.create(program=program, rulebook=made, effective_on=CHANGED, recorded_at=AT)


def rows(program: Program) -> tuple[list[Any], list[Any]]:
    owed = Obligation.objects.filter(program=program).order_by("pk")
    states = AssemblyState.objects.filter(program=program).order_by("pk")
    apart = ("updated_at", "replayed_at")
    return tuple(
        [{k: v for k, v in row.items() if k not in apart} for row in found.values()]
        for found in (owed, states)
    )  # type: ignore[return-value]


def undone(work: Callable[[], Any], *, program: Program) -> tuple[list[Any], list[Any]]:
    with transaction.atomic():
        work()
        found = rows(program)
        transaction.set_rollback(True)
    return found


EACH = [(act, BOOKS[number % 3]) for number, act in enumerate(ACTS)]
REST = [(act, book) for act in ACTS for book in BOOKS if (act, book) not in EACH]


@pytest.mark.parametrize(
    ("act", "book"),
    [*EACH, *(pytest.param(*each, marks=[pytest.mark.slow, pytest.mark.bench]) for each in REST)],
    ids=lambda one: one if isinstance(one, str) else one.__name__,
)
def test_a_change_of_rules_after_it_is_that_of_a_replay_of_all(act: Act, book: str) -> None:
    program, lives = office(book)
    before = stored(program)
    act(program, lives)
    assert told_apart(stored(program)) == told_apart(worked_out(program))
    assert mend_likeness(program=program, on=TODAY) == 0
    assert sum(before[pk] == words for pk, words in stored(program).items()) >= 4
    adopt(program)
    in_sets = undone(
        lambda: recalculate(program=program, changed_on=CHANGED, as_of=CHANGED), program=program
    )
    one_by_one = undone(
        lambda: replay_assemblies(program=program, assembly_ids=None, as_of=CHANGED),
        program=program,
    )
    assert in_sets == one_by_one
    assert in_sets != rows(program)
