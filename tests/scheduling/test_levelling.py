"""A levelling applied to stored obligations: one decision, undone as one, nobody made overdue."""

from __future__ import annotations

import json
from argparse import ArgumentTypeError
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core.management import call_command

from registry.changes import Hand
from registry.models import Change, Premises, Program
from scheduling.actions.levelling import (
    LevelError,
    Proposal,
    Wish,
    apply_level,
    propose_level,
    undo_level,
)
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.level_periods import Capacity, Per
from scheduling.management.commands.level_year import capacity
from scheduling.models import LevelDecision, Obligation
from scheduling.queries.levelling import owed_between, what_it_steers
from scheduling.queries.standings import standing_rows
from tests.notices.offices import assembly, happened, office, owner, premises

pytestmark = pytest.mark.django_db

TODAY = date(2026, 1, 5)
LAST = date(2027, 1, 4)
HAND = Hand(by="a test", at=datetime(2026, 1, 5, 12, tzinfo=UTC))


def wish(number: int, per: Per = Per.WEEK) -> Wish:
    return Wish(capacity=Capacity(number=number, per=per), first=TODAY, last=LAST)


def heap(program: Program, number: int, *, passed: date = date(2025, 6, 26)) -> list[Premises]:
    """So many premises, each with one test due a year after the same pass."""
    places = []
    for one in range(number):
        place = premises(program, one, of=owner(program, f"Owner {one}"))
        assembly(place, f"S{one}", facts=[("passed", passed)], as_of=TODAY)
        places.append(place)
    return places


def proposed(program: Program, number: int) -> Proposal:
    return propose_level(program=program, wish=wish(number))


def targets(program: Program) -> dict[int, date | None]:
    rows = Obligation.objects.filter(program=program, closed_on__isnull=True)
    return dict(rows.values_list("pk", "target_on"))


def test_a_heap_is_spread_within_its_windows_and_kept_as_one_decision() -> None:
    program = office()
    heap(program, 6)
    proposal = proposed(program, 2)
    decision = apply_level(program=program, proposal=proposal, hand=HAND)
    for row in Obligation.objects.filter(program=program):
        assert row.target_on is not None
        assert row.opens_on <= row.target_on <= row.due_on
    assert sorted(proposal.levelling.loads)[-3:] == [2, 2, 2]
    assert decision.rows.count() == 6
    assert (decision.made_by, decision.figures["moved"]) == ("a test", 4)
    assert Change.objects.filter(what="leveldecision", subject_id=decision.pk).count() == 1


def test_nobody_stands_otherwise_on_any_day_after_levelling() -> None:
    program = office()
    heap(program, 5)
    days = [TODAY + timedelta(days=step) for step in range(0, 400, 13)]

    def standings() -> list[Any]:
        return [
            [
                (row.assembly_id, row.standing, row.due_on)
                for row in standing_rows(program=program, as_of=day)
            ]
            for day in days
        ]

    before = standings()
    apply_level(program=program, proposal=proposed(program, 1), hand=HAND)
    assert standings() == before


def test_only_the_target_is_set() -> None:
    program = office()
    heap(program, 4)
    kept = [f.name for f in Obligation._meta.concrete_fields if f.name != "target_on"]
    before = list(Obligation.objects.order_by("pk").values(*kept))
    apply_level(program=program, proposal=proposed(program, 1), hand=HAND)
    assert list(Obligation.objects.order_by("pk").values(*kept)) == before


def test_a_target_outlives_a_replay() -> None:
    program = office()
    heap(program, 4)
    apply_level(program=program, proposal=proposed(program, 1), hand=HAND)
    before = targets(program)
    replay_assemblies(program=program, assembly_ids=None, as_of=TODAY)
    assert targets(program) == before


def test_undoing_puts_back_what_stood_and_only_once() -> None:
    program = office()
    heap(program, 4)
    first = apply_level(program=program, proposal=proposed(program, 1), hand=HAND)
    stood = targets(program)
    second = apply_level(program=program, proposal=proposed(program, 4), hand=HAND)
    assert targets(program) != stood
    undo_level(decision=second, today=TODAY, hand=HAND)
    assert targets(program) == stood
    undo_level(decision=first, today=TODAY, hand=HAND)
    assert set(targets(program).values()) == {None}
    with pytest.raises(LevelError, match="undone before"):
        undo_level(decision=first, today=TODAY, hand=HAND)


def test_what_was_tested_meanwhile_is_left_alone() -> None:
    program = office()
    places = heap(program, 3)
    proposal = proposed(program, 1)
    one = places[0].assemblies.get()
    happened(one, [("passed", date(2026, 1, 5))], as_of=TODAY)
    decision = apply_level(program=program, proposal=proposal, hand=HAND)
    assert decision.rows.count() == 2


def test_what_does_not_fit_is_refused_with_the_weeks_and_what_would_do() -> None:
    program = office(rulebook="plain-season")
    heap(program, 30)
    proposal = proposed(program, 2)  # March 1 to May 31: 13 weeks and a Sunday, so 26
    with pytest.raises(LevelError) as refused:
        apply_level(program=program, proposal=proposal, hand=HAND)
    assert "It does not fit into 2 a week." in refused.value.message
    assert "3 a week would do." in refused.value.message
    assert LevelDecision.objects.count() == 0


def test_a_season_keeps_to_its_days_and_loses_none() -> None:
    program = office(rulebook="plain-season")
    heap(program, 13)
    proposal = proposed(program, 1)
    assert proposal.levelling.is_feasible
    assert proposal.levelling.lost_days == 0
    days = sorted(move.target_on for move in proposal.moves)
    assert days[0] >= date(2026, 3, 1)
    assert days[-1] <= date(2026, 5, 31)


def test_an_anniversary_is_not_aimed_before_its_early_window() -> None:
    program = office(rulebook="plain-anniversary")
    heap(program, 3)
    owed = owed_between(program, first=TODAY, last=LAST)
    assert owed.duties
    for duty in owed.duties:
        row = owed.rows[duty.key]
        assert duty.from_on >= row.opens_on
        assert not duty.loses_days


def test_failed_overdue_and_idle_ones_are_left_out_and_counted() -> None:
    program = office()
    for serial, facts in {
        "LATE": [("passed", date(2024, 6, 1))],
        "FAIL": [("passed", date(2025, 6, 1)), ("failed", date(2026, 1, 4))],
        "IDLE": [("passed", date(2025, 6, 1)), ("idled", date(2025, 12, 1))],
        "GOOD": [("passed", date(2025, 6, 1))],
    }.items():
        place = premises(program, len(serial) + ord(serial[0]), of=owner(program, serial))
        assembly(place, serial, facts=facts, as_of=TODAY)
    owed = owed_between(program, first=TODAY, last=LAST)
    assert [row.its_assembly.serial for row in owed.rows.values()] == ["GOOD"]
    assert (owed.past_due, owed.failed, owed.at_rest) == (1, 1, 1)


def test_a_program_whose_owners_hire_their_testers_says_so() -> None:
    program = office()
    assert "courtesy letters only" in what_it_steers(program)


def test_the_command_proposes_applies_and_answers_in_json(
    capsys: pytest.CaptureFixture[str],
) -> None:
    program = office()
    heap(program, 4)
    asked = ["level_year", "--program", "flats", "--capacity", "2/week", "--from", "2026-01-05"]
    call_command(*asked, "--json")
    said = json.loads(capsys.readouterr().out)
    assert (said["feasible"], said["obligations"], said["applied"]) == (True, 4, None)
    assert (said["from"], said["to"], said["per"]) == ("2026-01-05", "2027-01-04", "week")
    assert max(period["after"] for period in said["periods"]) == 2
    assert max(period["before"] for period in said["periods"]) == 4
    assert set(targets(program).values()) == {None}
    call_command(*asked, "--apply", "--json")
    assert json.loads(capsys.readouterr().out)["applied"] == LevelDecision.objects.get().pk
    assert None not in targets(program).values()


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--program", "nowhere", "--capacity", "2/week"], "There is no program"),
        (
            [
                "--program",
                "flats",
                "--capacity",
                "2/week",
                "--from",
                "2026-05-01",
                "--to",
                "2026-01-01",
            ],
            "lies before",
        ),
    ],
)
def test_wrong_arguments_are_refused_in_a_sentence(
    arguments: list[str], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    office()
    with pytest.raises(SystemExit) as ended:
        call_command("level_year", *arguments, "--json")
    assert ended.value.code == 2
    assert why in json.loads(capsys.readouterr().out)["error"]


@pytest.mark.parametrize("text", ["2/day", "0/week", "week", "1.5/week", "-2/week", ""])
def test_a_capacity_that_is_none_is_refused_with_how_to_write_it(text: str) -> None:
    with pytest.raises(ArgumentTypeError, match="write 25/week or 100/month"):
        capacity(text)


def test_what_does_not_fit_ends_with_one(capsys: pytest.CaptureFixture[str]) -> None:
    heap(office(), 40)
    with pytest.raises(SystemExit) as ended:
        call_command("level_year", "--program", "flats", "--capacity", "1/week", "--json")
    assert ended.value.code == 1
    said = json.loads(capsys.readouterr().out)
    assert said["over"]
    assert said["enough"] > 1
