"""Group decisions that catch surveys of premises and protection of services: their dates by hand,
ended and withdrawn, on both axes of time."""

from __future__ import annotations

from datetime import date

import pytest

from registry.domain.kinds import Hazard
from registry.models import Program, ServiceConnection
from scheduling.actions.by_hand.assemblies import take_back_fact
from scheduling.actions.by_hand.carrying import carry_decisions
from scheduling.actions.by_hand.decisions import look_again
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.surveys import (
    PlaceFact,
    Survey,
    follow_premises,
    keep_place_fact,
    keep_survey,
)
from scheduling.domain.facts import FactKind
from scheduling.domain.pauses import Pause
from scheduling.models import Decision, Fact, Obligation
from scheduling.queries.duties import duties_at
from scheduling.queries.obligations import as_domain
from tests.scheduling.larch_court import (
    DUE,
    TODAY,
    agrees,
    both,
    court,
    decided,
    due,
    ended,
    words,
)
from tests.scheduling.waterworks import hand, installed, lines, moment, served, waterworks

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def program() -> Program:
    return waterworks()


@pytest.mark.parametrize(
    ("kind", "on", "until", "becomes"),
    [
        ("held", TODAY, date(2026, 6, 30), date(2026, 6, 30)),  # falls into it: its last day
        ("held", TODAY, date(2026, 4, 2), date(2026, 4, 2)),
        ("held", TODAY, DUE, DUE),  # due on the last day itself stays
        ("held", TODAY, date(2026, 3, 31), DUE),  # over before it is due
        ("extended", TODAY, date(2026, 5, 15), date(2026, 5, 15)),
        ("extended", TODAY, date(2026, 3, 20), DUE),  # no later day: a person is asked
    ],
)
def test_the_due_days_of_surveys_and_protection_follow(
    program: Program, kind: str, on: date, until: date, becomes: date
) -> None:
    court(program, 2)
    assert due(program) == both(DUE)
    row = decided(program, kind, on=on, until=until)
    assert due(program) == both(becomes)
    mine = row.members.filter(assembly=None)
    assert set(mine.values_list("due_before", "due_after")) == {(DUE, becomes)}
    agrees(program, on=TODAY)


def test_a_hold_ended_early_ends_for_all_and_on_its_first_day_is_gone(program: Program) -> None:
    court(program, 2)
    row = decided(program, "held", until=date(2026, 6, 30))
    assert ended(row, on=date(2026, 4, 15)) == 6
    assert due(program) == both(date(2026, 4, 15))  # 1 April lies in what is left of it
    agrees(program, on=date(2026, 4, 15))
    again = decided(program, "held", on=date(2026, 4, 15), until=date(2026, 6, 30),
                    today=date(2026, 4, 15))  # fmt: skip
    # what falls on the first day of a hold lies in it
    assert due(program) == both(date(2026, 6, 30))
    ended(again, on=date(2026, 4, 15))
    assert due(program) == both(date(2026, 4, 15))
    assert not Fact.objects.filter(source_ref=f"decision {again.pk}", withdrawn_at=None).exists()
    agrees(program, on=date(2026, 4, 15))


def test_an_extension_ended_before_the_old_due_day_gives_that_back(program: Program) -> None:
    court(program, 2)
    row = decided(program, "extended", until=date(2026, 5, 15),
                  members=tuple(w for w in words(program) if " " in w))  # fmt: skip
    assert due(program) == both(date(2026, 5, 15))
    ended(row, on=date(2026, 3, 25), today=date(2026, 3, 20))
    assert due(program) == both(DUE)
    agrees(program, on=date(2026, 3, 20))


def test_an_exemption_excuses_both_is_looked_at_again_and_ended_both_are_owed_again(
    program: Program,
) -> None:
    court(program, 2)
    row = decided(program, "exempted", until=date(2026, 9, 1))
    assert due(program) == set()
    assert {one.split(" ", 3)[3] for one in lines(program)} == {"excused 2026-03-10"}
    look_again(decision=row, until=date(2027, 3, 1), today=TODAY, hand=hand(TODAY))
    live = Fact.objects.filter(kind="exempted", withdrawn_at=None)
    assert {fact.detail["until"] for fact in live} == {"2027-03-01"}
    on = date(2026, 5, 1)
    ended(row, on=on)
    # protection lacks again: 1 May + 30 days; the survey is asked for again likewise
    assert ("protection", date(2026, 5, 31)) in due(program)
    assert {kind for kind, _ in due(program)} == {"survey", "protection"}
    agrees(program, on=on)


def test_a_stopped_clock_of_letters_moves_no_date_and_runs_again_for_all(program: Program) -> None:
    court(program, 2)
    row = decided(program, "stopped")
    assert due(program) == both(DUE)
    owed = Obligation.objects.filter(program=program, assembly=None)
    assert {as_domain(one).pauses for one in owed} == {(Pause(TODAY),)}
    # an office's own hand lets one service go on before the others
    service = ServiceConnection.objects.order_by("pk")[0]
    told = PlaceFact(kind=FactKind.RESTARTED, on=date(2026, 3, 12), approved_by="M. Director")
    keep_place_fact(of=service, told=told, today=date(2026, 3, 12), hand=hand(date(2026, 3, 12)))
    restarted = (Pause(TODAY, date(2026, 3, 12)),)
    assert as_domain(owed.get(connection=service)).pauses == restarted
    ended(row, on=date(2026, 3, 20))
    others = owed.exclude(connection=service)
    assert {as_domain(one).pauses for one in others} == {(Pause(TODAY, date(2026, 3, 20)),)}
    agrees(program, on=date(2026, 3, 20))


def test_one_is_taken_out_by_withdrawing_its_fact_and_is_left_alone_when_it_ends(
    program: Program,
) -> None:
    services = court(program, 2)
    row = decided(program, "held", until=date(2026, 6, 30))
    out = row.members.get(connection=services[0])
    take_back_fact(fact=out.fact, today=TODAY, hand=hand(TODAY))
    owed = Obligation.objects.get(connection=services[0])
    assert owed.due_on == DUE
    assert ended(row, on=date(2026, 4, 15)) == 5
    owed.refresh_from_db()
    assert owed.due_on == DUE
    agrees(program, on=date(2026, 4, 15))


def test_who_comes_to_the_street_later_is_in_no_decision(program: Program) -> None:
    """As with assemblies: a decision is about those listed when it was made."""
    court(program, 1)
    row = decided(program, "held", until=date(2026, 6, 30))
    new = served(program, 5, on=date(2026, 3, 12))
    follow_premises(program=program, premises_ids=[new.premises_id], today=date(2026, 3, 12))
    assert set(Obligation.objects.filter(connection=new).values_list("due_on", flat=True)) == {
        date(2026, 4, 11)
    }
    assert row.members.count() == 3


def test_what_is_met_while_it_is_held_is_met(program: Program) -> None:
    (service,) = court(program, 1)
    decided(program, "held", until=date(2026, 6, 30))
    on = date(2026, 3, 20)
    installed(service, "RP", on=on)
    survey = Survey(on=on, hazard=Hazard.HIGH)
    keep_survey(premises=service.premises, survey=survey, today=on, hand=hand(on))
    assert lines(program) == ["2026-03-02 due 2026-06-30 met 2026-03-20"]
    assert lines(program, "survey")[0] == "2026-03-02 due 2026-06-30 met 2026-03-20"
    agrees(program, on=on)


# The two axes of time


def test_a_day_before_it_and_what_was_known_before_it_are_as_they_were(program: Program) -> None:
    (service,) = court(program, 1)
    later = date(2026, 3, 20)
    row = decided(program, "held", on=TODAY, until=date(2026, 6, 30), today=later)
    site, day = service.premises, date(2026, 3, 25)

    def told(as_of: date, known: date | None = None) -> set[date]:
        known_at = moment(known) if known else None
        return {d.obligation.due_on for d in duties_at(site, as_of=as_of, known_at=known_at)}

    assert told(day) == {date(2026, 6, 30)}
    assert told(date(2026, 3, 9)) == {DUE}
    # begun on 10 March, but written down on the 20th: nobody knew of it before
    assert told(date(2026, 3, 15)) == {date(2026, 6, 30)}
    assert told(date(2026, 3, 15), date(2026, 3, 15)) == {DUE}
    ended(row, on=TODAY, today=date(2026, 3, 25))
    assert told(day) == {DUE}
    assert told(day, date(2026, 3, 22)) == {date(2026, 6, 30)}


def test_a_hold_ahead_begins_on_its_day_and_not_before(program: Program) -> None:
    court(program, 2)
    row = decided(program, "held", on=date(2026, 3, 20), until=date(2026, 6, 30))
    assert carry_decisions(program=program, today=date(2026, 3, 19)) == 0
    assert due(program) == both(DUE)
    carry_decisions(program=program, today=date(2026, 3, 20))
    assert due(program) == both(date(2026, 6, 30))
    row.refresh_from_db()
    assert row.replay_on is None
    agrees(program, on=date(2026, 3, 20))


# One alone


def test_one_service_alone_is_decided_as_a_group_of_one_and_ended_the_same(
    program: Program,
) -> None:
    service, _ = court(program, 2)
    told = PlaceFact(kind=FactKind.EXTENDED, on=TODAY, until=date(2026, 5, 15), approved_by="M. D.")
    given = hand(TODAY)
    with pytest.raises(RefusedChangeError, match="reason"):
        keep_place_fact(of=service, told=told, today=TODAY, hand=given)
    said = type(given)(by=given.by, at=given.at, reason="the main is renewed")
    keep_place_fact(of=service, told=told, today=TODAY, hand=said)
    row = Decision.objects.get()
    assert (row.chosen_by, row.members.get().connection_id) == (
        "domestic at 1 Larch Court alone", service.pk,
    )  # fmt: skip
    assert Obligation.objects.get(connection=service).due_on == date(2026, 5, 15)
    ended(row, on=date(2026, 3, 12))
    assert Obligation.objects.get(connection=service).due_on == DUE
