"""A decision for a whole program: kept as one, its dates following in chunks, at the latest with
the next run of the day, before anything leaves."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from notices.actions.day import run_day
from notices.models import Notice
from registry.changes import Hand
from registry.models import Assembly, Program
from scheduling.actions.by_hand import carrying, decisions, member_facts
from scheduling.actions.by_hand.carrying import carry_decisions, carry_on
from scheduling.actions.by_hand.decisions import decide, end_decision
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.decisions import DecisionError
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState, Decision, DecisionMember, Fact
from scheduling.queries.standings import ledger_of
from tests.scheduling.office import made_assembly, made_program, recorded, replayed

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
HAND = Hand(by="A. Clerk", at=datetime(2025, 11, 25, 20, tzinfo=UTC), reason="")
UNTIL = date(2026, 3, 31)


@pytest.fixture
def program(monkeypatch: pytest.MonkeyPatch) -> Program:
    """A trial, in which more than two are many, and three at a time are worked out."""
    monkeypatch.setattr(decisions, "MOST_AT_ONCE", 2)
    monkeypatch.setattr(member_facts, "IN_A_WRITE", 4)
    monkeypatch.setattr(carrying, "CHUNK", 3)
    made = made_program()
    Program.objects.filter(pk=made.pk).update(is_trial=True)
    made.refresh_from_db()
    return made


@pytest.fixture
def street(program: Program) -> list[Assembly]:
    """Ten DCs, passed on 5 to 14 December 2024: due a year later."""
    made = [made_assembly(program, serial=f"E{n}") for n in range(10)]
    for n, one in enumerate(made):
        recorded(one, (FactKind.PASSED, date(2024, 12, 5) + timedelta(days=n)))
    replayed(made, as_of=TODAY)
    return made


def held(program: Program, street: list[Assembly], *, on: date = TODAY) -> Decision:
    told = Told(
        kind=FactKind.HELD,
        on=on,
        until=UNTIL,
        reason="the street is open",
        approved_by="J. Marsh, board",
        group="Elm Street",
        members=tuple(str(one.pk) for one in street),
    )
    return decide(program=program, told=told, chosen_by="Elm", today=TODAY, hand=HAND)


def due_dates(street: list[Assembly]) -> list[date | None]:
    found = AssemblyState.objects.filter(assembly__in=street).order_by("assembly")
    return list(found.values_list("due_on", flat=True))


def test_killed_half_way_it_is_carried_on_to_the_same_end(
    program: Program, street: list[Assembly], monkeypatch: pytest.MonkeyPatch
) -> None:
    row = held(program, street)
    assert row.members.count() == Fact.objects.filter(kind="held").count() == 10
    done = iter([carrying.keep_due_dates] * 2)

    def killed(members: list[DecisionMember]) -> None:
        next(done)(members)

    monkeypatch.setattr(carrying, "keep_due_dates", killed)
    with pytest.raises(StopIteration):
        carry_on(row, today=TODAY)
    monkeypatch.undo()
    assert due_dates(street).count(UNTIL) == 6
    assert Decision.objects.get(replay_on=TODAY) == row
    carry_on(row, today=TODAY)
    assert not Decision.objects.filter(replay_on__isnull=False).exists()
    assert set(due_dates(street)) == {UNTIL}
    assert set(row.members.values_list("due_after", flat=True)) == {UNTIL}
    first = row.members.order_by("due_before").values_list("due_before", flat=True).first()
    assert first == date(2025, 12, 5)


def test_what_nobody_carried_on_the_next_run_of_the_day_does_before_anything_leaves(
    program: Program, street: list[Assembly]
) -> None:
    """Due on 5 to 14 December 2025: on the 20th all ten would be overdue, but they are held."""
    held(program, street)
    run_day(program=program, as_of=date(2025, 12, 20), now=HAND.at + timedelta(days=25))
    assert set(due_dates(street)) == {UNTIL}
    assert not Notice.objects.filter(program=program, rung="first-overdue").exists()


def test_a_hold_ahead_begins_on_its_day_and_not_before(
    program: Program, street: list[Assembly]
) -> None:
    before = due_dates(street)
    row = held(program, street, on=date(2025, 12, 1))
    assert carry_decisions(program=program, today=date(2025, 11, 30)) == 0
    assert due_dates(street) == before
    # the day asked about decides, and what was known of it
    asked = ledger_of(assembly=street[0], as_of=date(2025, 12, 2))
    assert asked.current is not None
    assert asked.current.due_on == UNTIL
    run_day(program=program, as_of=date(2025, 12, 1), now=HAND.at + timedelta(days=6))
    assert set(due_dates(street)) == {UNTIL}
    row.refresh_from_db()
    assert row.replay_on is None


def test_only_a_hold_may_begin_ahead(program: Program, street: list[Assembly]) -> None:
    told = Told(
        kind=FactKind.IDLED,
        on=date(2025, 12, 1),
        until=UNTIL,
        reason="r",
        approved_by="a",
        members=(str(street[0].pk),),
    )
    with pytest.raises(DecisionError, match="Only a hold may begin on a day to come"):
        decide(program=program, told=told, chosen_by="one", today=TODAY, hand=HAND)
    assert not Fact.objects.filter(kind="idled").exists()


def test_a_large_decision_ended_early_ends_for_all(
    program: Program, street: list[Assembly]
) -> None:
    row = held(program, street)
    carry_on(row, today=TODAY)
    assert end_decision(decision=row, on=date(2025, 12, 9), today=TODAY, hand=HAND) == 10
    row.refresh_from_db()
    assert row.replay_on == TODAY
    carry_on(row, today=TODAY)
    # to the hold's new last day, 9 December, where they lie within; later ones as they were
    assert due_dates(street) == [max(date(2025, 12, 5 + n), date(2025, 12, 9)) for n in range(10)]


def test_a_hold_ahead_shortened_begins_all_the_same(
    program: Program, street: list[Assembly]
) -> None:
    row = held(program, street, on=date(2025, 12, 1))
    end_decision(decision=row, on=date(2025, 12, 9), today=TODAY, hand=HAND)
    row.refresh_from_db()
    assert row.replay_on == date(2025, 12, 1)
    carry_decisions(program=program, today=date(2025, 12, 1))
    assert due_dates(street) == [max(date(2025, 12, 5 + n), date(2025, 12, 9)) for n in range(10)]
