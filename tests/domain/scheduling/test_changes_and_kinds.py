"""Changes of rule, extensions, and several kinds of work, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ladders import LeftRung
from scheduling.domain.standing import Standing, standing
from scheduling.domain.timeline import AttributesFrom, RulebookFrom
from tests.domain.scheduling.histories import (
    HIGH_RP,
    INSPECTION,
    LOW_DC,
    START,
    book,
    facts,
    lines,
    walked,
    with_rules,
)

# Point 9: a change of rule or hazard


def shapes(on: str) -> list[AttributesFrom]:
    low = replace(HIGH_RP, hazard=Hazard.LOW)
    return [
        AttributesFrom(on=START, attributes=low),
        AttributesFrom(on=date.fromisoformat(on), attributes=HIGH_RP),
    ]


@pytest.mark.parametrize(
    ("day", "due"),
    [
        ("2024-05-01", "2024-09-01"),  # six months after the pass, more than 30 days away
        ("2024-08-20", "2024-09-19"),  # floored: 20 August + 30 days
        ("2025-02-20", "2025-03-01"),  # the floor would be later than the old date
    ],
)
def test_a_raised_hazard_shortens_no_sooner_than_the_transition_days(day: str, due: str) -> None:
    ledger = walked("plain-rolling", "passed 2024-03-01", as_of=day, attributes=shapes(day))
    assert ledger.current is not None
    assert ledger.current.due_on.isoformat() == due


def test_closed_obligations_keep_the_rulebook_they_had() -> None:
    books = [
        RulebookFrom(on=START, rulebook=book("plain-rolling")),
        RulebookFrom(on=date(2024, 10, 1), rulebook=book("plain-season")),
    ]
    told = "installed 2024-03-01, passed 2024-03-04"
    ledger = walked(books, told, as_of="2024-11-01")
    assert [each.rulebook for each in ledger.obligations] == ["plain-rolling"]
    assert lines(ledger)[-1] == "(opens 2025-03-01 due 2025-05-31)"
    assert ledger.coming[0].rulebook == "plain-season"


def test_one_no_longer_asked_for_is_excused_and_exempt() -> None:
    shapes_ = [
        AttributesFrom(on=START, attributes=LOW_DC),
        AttributesFrom(on=date(2024, 2, 1), attributes=replace(LOW_DC, type=AssemblyType.AG)),
    ]
    ledger = walked("plain-rolling", "passed 2023-03-01", as_of="2024-03-01", attributes=shapes_)
    assert lines(ledger) == ["opens 2024-01-01 due 2024-03-01 excused 2024-02-01"]
    assert standing(ledger, date(2024, 3, 1)) is Standing.EXEMPT


def test_one_newly_asked_for_is_given_the_transition_days() -> None:
    shapes_ = [
        AttributesFrom(on=START, attributes=replace(LOW_DC, type=AssemblyType.AVB)),
        AttributesFrom(on=date(2024, 2, 1), attributes=LOW_DC),
    ]
    ledger = walked("plain-rolling", "passed 2022-03-01", as_of="2024-02-01", attributes=shapes_)
    assert lines(ledger) == ["opens 2024-02-01 due 2024-03-02"]


# Point 10: extension


def test_an_extension_moves_the_due_date_and_never_goes_back_to_courtesy() -> None:
    told = "passed 2023-03-01, extended 2024-03-10 until=2024-06-01"
    ledger = walked("plain-rolling", told, as_of="2024-04-20")
    assert lines(ledger) == ["opens 2024-01-01 due 2024-06-01"]
    assert ledger.obligations[0].courtesy_is_over  # it was overdue when extended
    assert ledger.next_action_on == date(2024, 6, 2)  # first-overdue, no reminder before


def test_an_extension_keeps_what_left_and_resumes_at_the_next_rung() -> None:
    told = "passed 2023-03-01, extended 2024-03-20 until=2024-06-01"
    key = walked("plain-rolling", told, as_of="2024-03-21").obligations[0].key
    left = {key: [LeftRung(rung="first-overdue", left_on=date(2024, 3, 2))]}
    ledger = walked("plain-rolling", told, as_of="2024-03-21", left=left)
    # second-overdue: the day after the new due date; left + 14 days is long past
    assert ledger.next_action_on == date(2024, 6, 2)


def test_an_extension_that_ends_before_the_due_date_goes_to_a_person() -> None:
    told = "passed 2023-03-01, extended 2024-01-10 until=2024-02-01"
    ledger = walked("plain-rolling", told, as_of="2024-01-11")
    assert lines(ledger) == ["opens 2024-01-01 due 2024-03-01"]
    assert any("moves no due date later" in warning for warning in ledger.warnings)


# Point 11: several kinds


def test_each_kind_of_work_is_met_by_the_kinds_it_names() -> None:
    inspected = [
        *facts("passed 2022-03-01"),
        Fact(kind=FactKind.PASSED, on=date(2022, 3, 1), work="internal inspection", sequence=9),
    ]
    ledger = walked(with_rules("plain-rolling", INSPECTION), inspected, as_of="2022-04-01")
    coming = {each.kind: each.due_on for each in ledger.coming}
    assert coming == {"test": date(2023, 3, 1), "inspection": date(2024, 9, 1)}
    assert ledger.current is not None
    assert ledger.current.kind == "test"


def test_a_test_does_not_meet_an_inspection() -> None:
    ledger = walked(
        with_rules("plain-rolling", INSPECTION), "installed 2022-03-01, passed 2022-03-02",
        as_of="2022-04-01",
    )  # fmt: skip
    # nothing was inspected yet: thirty months from the installation
    assert {each.kind: each.due_on for each in ledger.coming} == {
        "test": date(2023, 3, 2),
        "inspection": date(2024, 9, 1),
    }
