"""Two stops at once: the clock of letters goes on only when the last of them has ended."""

from __future__ import annotations

from datetime import date

import pytest

from notices.actions.clocks import Day
from notices.actions.returned import enter_returned
from notices.actions.settling_returned import goes_on
from notices.domain.returns import CameBack
from notices.models import Letter, ReturnedLetter
from registry.models import Program
from scheduling.actions.by_hand.assemblies import add_fact
from scheduling.actions.by_hand.decisions import decide, end_decision
from scheduling.actions.facts import FactError
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.facts import FactKind
from scheduling.models import Decision, Fact, Obligation
from tests.notices.offices import assembly, office, owner, premises
from tests.notices.test_returned_letters import OVERDUE, at, hand, on, run

pytestmark = pytest.mark.django_db


@pytest.fixture
def program() -> Program:
    program = office()
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    return program


def a_letter_came_back(program: Program, *, later: int) -> None:
    enter_returned(
        Letter.objects.get().number, how=CameBack.UNDELIVERABLE, came_back_on=on(later), words="",
        day=at(program, later), hand=hand(later),
    )  # fmt: skip


def the_letter_is_settled(program: Program, *, later: int) -> None:
    day: Day = at(program, later)
    goes_on(ReturnedLetter.objects.get().pk, day=day, hand=hand(later, "Read out by phone."))


def it_is_decided(program: Program, *, later: int) -> Decision:
    (pk,) = Obligation.objects.filter(closed_on=None).values_list("assembly_id", flat=True)
    told = Told(
        kind=FactKind.STOPPED, on=on(later), reason="A hearing", approved_by="A. Clerk",
        members=(str(pk),),
    )  # fmt: skip
    return decide(program=program, told=told, chosen_by="one", today=on(later), hand=hand(later))


def it_is_over(decision: Decision, *, later: int) -> None:
    end_decision(decision=decision, on=on(later), today=on(later), hand=hand(later, "over"))


def pauses() -> list[tuple[date, date | None]]:
    (row,) = Obligation.objects.filter(closed_on__isnull=True)
    return [
        (date.fromisoformat(since), date.fromisoformat(ends) if ends else None)
        for since, ends in row.detail.get("pauses", ())
    ]


def test_the_end_of_a_decision_leaves_a_clock_standing_that_a_letter_stops_too(
    program: Program,
) -> None:
    a_letter_came_back(program, later=5)
    it_is_over(it_is_decided(program, later=8), later=10)
    assert pauses() == [(on(5), None)]
    the_letter_is_settled(program, later=20)
    assert pauses() == [(on(5), on(20))]


def test_a_letter_settled_leaves_a_clock_standing_that_a_decision_stops_too(
    program: Program,
) -> None:
    a_letter_came_back(program, later=5)
    decision = it_is_decided(program, later=8)
    the_letter_is_settled(program, later=10)
    assert pauses() == [(on(5), None)]
    it_is_over(decision, later=20)
    assert pauses() == [(on(5), on(20))]


def test_two_decisions_stop_it_until_both_are_over(program: Program) -> None:
    one, other = it_is_decided(program, later=3), it_is_decided(program, later=4)
    it_is_over(one, later=6)
    assert pauses() == [(on(3), None)]
    it_is_over(other, later=9)
    assert pauses() == [(on(3), on(9))]


def test_a_stop_ended_on_the_day_it_began_is_gone_and_the_other_stays(program: Program) -> None:
    a_letter_came_back(program, later=5)
    decision = it_is_decided(program, later=8)
    it_is_over(decision, later=8)
    assert pauses() == [(on(5), None)]
    assert Fact.objects.get(pk=decision.members.get().fact_id).withdrawn_at is not None
    the_letter_is_settled(program, later=9)
    assert pauses() == [(on(5), on(9))]


def restarted_by_hand(*, later: int) -> None:
    (row,) = Obligation.objects.filter(closed_on__isnull=True)
    add_fact(
        assembly=row.its_assembly, kind=FactKind.RESTARTED, on=on(later), today=on(later),
        hand=hand(later, "by hand"),
    )  # fmt: skip


def test_a_person_restarts_what_persons_stopped_and_no_letter_that_is_not_settled(
    program: Program,
) -> None:
    a_letter_came_back(program, later=5)
    with pytest.raises(FactError, match="not settled"):
        restarted_by_hand(later=7)
    it_is_decided(program, later=8)
    with pytest.raises(FactError, match="withdraw that, or choose a later day"):
        restarted_by_hand(later=8)
    restarted_by_hand(later=9)
    assert pauses() == [(on(5), None)]
    the_letter_is_settled(program, later=20)
    assert pauses() == [(on(5), on(20))]


def test_one_of_a_group_restarts_by_hand_while_the_decision_goes_on(program: Program) -> None:
    decision = it_is_decided(program, later=3)
    restarted_by_hand(later=6)
    assert pauses() == [(on(3), on(6))]
    it_is_over(decision, later=9)
    assert pauses() == [(on(3), on(6))]
