"""Missing dates, weekends, exempt types, both axes of time, and reasons, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from registry.domain.kinds import AssemblyType
from scheduling.domain.rulebook import Attributes
from scheduling.domain.standing import Standing, standing
from tests.domain.scheduling.histories import (
    BOOKS,
    HIGH_RP,
    facts,
    lines,
    walked,
)

# Point 12: no dates at all


@pytest.mark.parametrize("name", BOOKS)
def test_without_a_fact_it_opens_the_day_it_was_recorded(name: str) -> None:
    ledger = walked(name, "", as_of="2025-11-25")
    assert lines(ledger) == ["opens 2025-11-25 due 2025-12-25"]
    assert ledger.obligations[0].prompts == (date(2025, 11, 25),)
    assert any("no date known" in reason.arithmetic for reason in ledger.reasons)


@pytest.mark.parametrize("name", BOOKS)
def test_without_dates_it_opens_on_the_day_of_its_first_fact(name: str) -> None:
    ledger = walked(name, "failed 2025-06-10", as_of="2025-06-11")
    assert lines(ledger) == ["opens 2025-06-10 due 2025-07-10 cure 2025-07-01"]


def test_a_pass_before_the_installation_meets_nothing() -> None:
    ledger = walked("plain-rolling", "passed 2024-02-01, installed 2024-03-01", as_of="2024-03-05")
    assert lines(ledger) == ["opens 2024-03-01 due 2024-03-11"]
    assert standing(ledger, date(2024, 3, 5)) is Standing.UNTESTED
    assert any("before the installation" in warning for warning in ledger.warnings)


# Point 13: weekends


def test_a_due_date_on_a_weekend_stays_there() -> None:
    ledger = walked("plain-rolling", "passed 2024-03-01", as_of="2024-04-01")
    assert ledger.coming[0].due_on == date(2025, 3, 1)
    assert ledger.coming[0].due_on.weekday() == 5  # a Saturday


# Exempt types, both axes of time, reasons


@pytest.mark.parametrize("type_", [AssemblyType.AG, AssemblyType.AVB])
@pytest.mark.parametrize("name", BOOKS)
def test_types_without_a_field_test_owe_nothing(name: str, type_: AssemblyType) -> None:
    ledger = walked(
        name, "installed 2020-01-01, failed 2021-01-01", as_of="2025-01-01",
        attributes=Attributes(type=type_),
    )  # fmt: skip
    assert (lines(ledger), ledger.current, ledger.next_action_on) == ([], None, None)
    assert standing(ledger, date(2025, 1, 1)) is Standing.EXEMPT


def test_a_late_report_changes_day_d_as_now_known_and_not_as_then_known() -> None:
    first, late = facts("passed 2024-03-01, passed 2025-02-20")
    first = replace(first, recorded_at=datetime(2024, 3, 2, tzinfo=UTC))
    late = replace(late, recorded_at=datetime(2025, 10, 1, tzinfo=UTC))
    then = datetime(2025, 6, 1, 23, tzinfo=UTC)
    now_known = walked("plain-rolling", [first, late], as_of="2025-06-01")
    then_known = walked("plain-rolling", [first, late], as_of="2025-06-01", known_at=then)
    assert standing(now_known, date(2025, 6, 1)) is Standing.GOOD
    assert standing(then_known, date(2025, 6, 1)) is Standing.OVERDUE


def test_a_withdrawal_made_later_is_not_yet_made() -> None:
    (fact,) = facts("passed 2025-02-20")
    fact = replace(
        fact,
        recorded_at=datetime(2025, 2, 21, tzinfo=UTC),
        withdrawn_at=datetime(2025, 10, 1, tzinfo=UTC),
    )
    then = datetime(2025, 6, 1, 23, tzinfo=UTC)
    assert walked("plain-rolling", [fact], as_of="2025-06-01").last_passed_on is None
    then_known = walked("plain-rolling", [fact], as_of="2025-06-01", known_at=then)
    assert then_known.last_passed_on == date(2025, 2, 20)


def test_every_reason_names_its_rule_and_its_source() -> None:
    ledger = walked("plain-rolling", "passed 2025-03-04", as_of="2025-04-01", attributes=HIGH_RP)
    (reason,) = ledger.reasons
    assert reason.arithmetic.startswith("last pass 2025-03-04 + 6 months = 2025-09-04")
    assert reason.rule == "plain-rolling: cycle half-yearly"
    assert reason.citation.startswith("Teaching rulebook plain-rolling, rule 4")


def test_a_standing_of_a_day_before_the_ledgers_own_is_refused() -> None:
    ledger = walked("plain-rolling", "passed 2025-03-04", as_of="2025-04-01")
    with pytest.raises(ValueError, match="replay as of 2025-03-31"):
        standing(ledger, date(2025, 3, 31))
