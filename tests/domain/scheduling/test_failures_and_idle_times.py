"""Failures, idle times and removal worked by hand."""

from __future__ import annotations

from datetime import date

import pytest

from scheduling.domain.obligations import Origin
from scheduling.domain.rulebook import Attributes
from scheduling.domain.standing import Standing, standing
from tests.domain.scheduling.histories import (
    BOOKS,
    HIGH_RP,
    LOW_DC,
    ON_RETURN,
    lines,
    walked,
    with_rules,
)

# Point 7: failure


@pytest.mark.parametrize(("attributes", "cure"), [(HIGH_RP, "2024-05-08"), (LOW_DC, "2024-05-22")])
def test_a_failure_opens_what_is_coming_and_counts_to_cure_from_the_first(
    attributes: Attributes, cure: str
) -> None:
    told = "passed 2024-03-01, failed 2024-05-01, failed 2024-05-06"
    ledger = walked("plain-anniversary", told, as_of="2024-05-07", attributes=attributes)
    assert lines(ledger) == [f"opens 2024-05-01 due 2025-03-01 cure {cure}"]
    assert standing(ledger, date(2024, 5, 7)) is Standing.FAILED
    cured = walked("plain-anniversary", f"{told}, passed 2024-05-30", as_of="2024-06-01",
                   attributes=attributes)  # fmt: skip
    assert lines(cured)[0] == f"opens 2024-05-01 due 2025-03-01 cure {cure} met 2024-05-30"


def test_a_repair_after_a_failure_does_not_cure_it() -> None:
    ledger = walked(
        "plain-rolling",
        "passed 2024-03-01, failed 2024-05-01, repaired 2024-05-03",
        as_of="2024-05-04",
    )
    assert lines(ledger) == ["opens 2024-05-01 due 2024-05-13 cure 2024-05-22"]
    assert standing(ledger, date(2024, 5, 4)) is Standing.FAILED


def test_another_failure_after_a_cure_starts_anew() -> None:
    told = "passed 2024-03-01, failed 2024-05-01, passed 2024-05-03, failed 2024-06-01"
    ledger = walked("plain-rolling", told, as_of="2024-06-02")
    assert lines(ledger) == [
        "opens 2024-05-01 due 2025-03-01 cure 2024-05-22 met 2024-05-03",
        "opens 2024-06-01 due 2025-05-03 cure 2024-06-22",
    ]


# Point 8: idle and removed


@pytest.mark.parametrize("name", BOOKS)
def test_nothing_is_overdue_while_idle_and_ten_days_are_given_on_return(name: str) -> None:
    told = "passed 2024-03-01, idled 2024-06-01"
    idle = walked(name, told, as_of="2026-01-01")
    assert standing(idle, date(2026, 1, 1)) is Standing.IDLE
    assert all(each.closed_on for each in idle.obligations)
    assert idle.next_action_on is None
    back = walked(name, f"{told}, resumed 2026-01-02", as_of="2026-01-02")
    assert lines(back)[-1] == "opens 2026-01-02 due 2026-01-12"
    assert standing(back, date(2026, 1, 2)) is Standing.DUE


def test_a_due_date_still_far_away_is_not_moved_by_an_idle_time() -> None:
    ledger = walked(
        "plain-rolling", "passed 2024-03-01, idled 2024-06-01, resumed 2024-07-01",
        as_of="2024-08-01",
    )  # fmt: skip
    assert lines(ledger) == ["(opens 2024-12-31 due 2025-03-01)"]


def test_one_overdue_before_the_idle_time_gets_the_grace_and_keeps_its_row() -> None:
    told = "passed 2023-03-01, idled 2024-06-01, resumed 2025-01-10"
    ledger = walked("plain-rolling", told, as_of="2025-01-15")
    assert lines(ledger) == ["opens 2024-01-01 due 2025-01-20"]
    assert ledger.obligations[0].key.origin is Origin.CYCLE


def test_an_event_while_idle_opens_on_the_return() -> None:
    told = "passed 2024-03-01, idled 2024-06-01, repaired 2024-07-01, resumed 2024-09-01"
    ledger = walked("plain-rolling", told, as_of="2024-09-02")
    # repair + 10 = 11 July, but not before back in use + 10
    assert lines(ledger) == ["opens 2024-09-01 due 2024-09-11"]
    assert ledger.obligations[0].key.origin is Origin.REPAIRED


def test_a_test_on_return_is_asked_for_where_the_rulebook_says_so() -> None:
    told = "passed 2024-03-01, idled 2024-06-01, resumed 2024-09-01"
    ledger = walked(with_rules("plain-rolling", ON_RETURN), told, as_of="2024-09-02")
    assert lines(ledger) == ["opens 2024-09-01 due 2024-09-04"]
    assert ledger.obligations[0].prompts == (date(2024, 9, 1),)


def test_removal_excuses_what_is_open() -> None:
    ledger = walked("plain-rolling", "passed 2023-03-01, removed 2024-06-01", as_of="2024-07-01")
    assert lines(ledger) == ["opens 2024-01-01 due 2024-03-01 excused 2024-06-01"]
    assert standing(ledger, date(2024, 7, 1)) is Standing.REMOVED
    assert ledger.current is None


def test_removal_leaves_no_row_of_what_was_coming_and_later_facts_go_to_a_person() -> None:
    ledger = walked(
        "plain-rolling", "passed 2024-03-01, removed 2024-06-01, passed 2024-06-05",
        as_of="2024-07-01",
    )  # fmt: skip
    assert lines(ledger) == []
    assert ledger.last_passed_on == date(2024, 3, 1)
    assert any("after the removal" in warning for warning in ledger.warnings)
