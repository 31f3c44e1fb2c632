"""The order within a day, what identifies an obligation, and events: worked by hand."""

from __future__ import annotations

from datetime import date

import pytest

from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.obligations import Origin
from scheduling.domain.standing import Standing, standing
from tests.domain.scheduling.histories import (
    BOOKS,
    HIGH_RP,
    INCIDENT,
    facts,
    lines,
    walked,
    with_rules,
)

# Point 1: the order within a day


def test_facts_of_one_day_take_the_order_of_a_day_not_of_recording() -> None:
    ledger = walked("plain-rolling", "passed 2024-03-01, installed 2024-03-01", as_of="2024-06-01")
    assert lines(ledger) == [
        "opens 2024-03-01 due 2024-03-11 met 2024-03-01",
        "(opens 2024-12-31 due 2025-03-01)",  # 60 days before
    ]


def test_failed_repaired_and_passed_on_one_day_is_cured_that_day() -> None:
    ledger = walked(
        "plain-rolling",
        "passed 2024-03-01, passed 2024-09-01, repaired 2024-09-01, failed 2024-09-01",
        as_of="2024-10-01",
    )
    assert lines(ledger)[0] == "opens 2024-09-01 due 2024-09-11 cure 2024-09-22 met 2024-09-01"
    assert standing(ledger, date(2024, 10, 1)) is Standing.GOOD


def test_a_failure_and_a_pass_apart_without_times_or_repair_leave_the_failure() -> None:
    ledger = walked(
        "plain-rolling",
        "passed 2024-03-01, failed 2024-09-01, passed 2024-09-01",
        as_of="2024-10-01",
    )
    assert standing(ledger, date(2024, 10, 1)) is Standing.FAILED
    assert ledger.last_passed_on == date(2024, 3, 1)
    assert any("without times" in warning for warning in ledger.warnings)


@pytest.mark.parametrize(
    ("told", "stands"),
    [
        ("failed 2024-09-01 09:00, passed 2024-09-01 15:00", Standing.GOOD),
        ("failed 2024-09-01 15:00, passed 2024-09-01 09:00", Standing.FAILED),
    ],
)
def test_where_both_have_times_time_decides(told: str, stands: Standing) -> None:
    ledger = walked("plain-rolling", f"passed 2024-03-01, {told}", as_of="2024-10-01")
    assert standing(ledger, date(2024, 10, 1)) is stands
    assert ledger.last_passed_on == date(2024, 9, 1)
    assert ledger.warnings == ()


def test_one_report_that_found_a_failure_mended_and_passed_it_opens_no_repair_test() -> None:
    report = Fact(
        kind=FactKind.PASSED, on=date(2024, 9, 1), found_failed=True, repaired_inside=True
    )
    ledger = walked("plain-rolling", [*facts("passed 2024-03-01"), report], as_of="2024-10-01")
    assert lines(ledger) == [
        # it opened by the failure; the due date is the cycle's, not repair + 10
        "opens 2024-09-01 due 2025-03-01 cure 2024-09-22 met 2024-09-01",
        "(opens 2025-07-03 due 2025-09-01)",
    ]
    assert ledger.obligations[0].prompts == ()


# Point 2: identity


def test_a_key_keeps_its_origin_while_the_due_date_moves() -> None:
    before = walked("plain-rolling", "passed 2024-03-01", as_of="2025-01-15").current
    after = walked(
        "plain-rolling", "passed 2024-03-01, repaired 2025-01-10", as_of="2025-01-15"
    ).current
    assert before is not None
    assert after is not None
    assert before.key == after.key
    assert (before.due_on, after.due_on) == (date(2025, 3, 1), date(2025, 1, 20))


def test_one_that_an_event_opens_springs_from_the_event() -> None:
    current = walked(
        "plain-rolling", "passed 2024-03-01, repaired 2024-05-10", as_of="2024-05-11"
    ).current
    assert current is not None
    assert (current.key.origin, current.key.period) == (Origin.REPAIRED, date(2024, 5, 10))


def test_two_passes_whose_clamped_due_dates_meet_have_two_keys() -> None:
    ledger = walked(
        "plain-rolling",
        "passed 2024-08-30, passed 2024-08-31",
        as_of="2024-10-01",
        attributes=HIGH_RP,
    )
    met, coming = ledger.obligations[0], ledger.coming[0]
    assert met.due_on == coming.due_on == date(2025, 2, 28)
    assert met.key != coming.key


# Point 3: events


@pytest.mark.parametrize("name", BOOKS)
@pytest.mark.parametrize("event", ["installed", "repaired", "relocated"])
def test_an_event_where_nothing_is_owed_makes_one_of_its_own(name: str, event: str) -> None:
    ledger = walked(name, f"{event} 2025-06-10", as_of="2025-06-12")
    assert lines(ledger) == ["opens 2025-06-10 due 2025-06-20"]
    assert ledger.obligations[0].prompts == (date(2025, 6, 10),)
    assert standing(ledger, date(2025, 6, 12)) is Standing.UNTESTED
    assert standing(walked(name, f"{event} 2025-06-10", as_of="2025-06-21"),
                    date(2025, 6, 21)) is Standing.OVERDUE  # fmt: skip


def test_an_event_brings_forward_what_is_coming_and_makes_no_second() -> None:
    told = "passed 2024-03-01, relocated 2024-05-10, repaired 2024-05-12"
    ledger = walked("plain-rolling", told, as_of="2024-05-13")
    assert lines(ledger) == ["opens 2024-05-10 due 2024-05-20"]
    # the repair asks for 22 May, which moves nothing earlier: one prompt
    assert ledger.obligations[0].prompts == (date(2024, 5, 10),)


def test_an_event_that_comes_too_late_to_move_the_due_date_prompts_nothing() -> None:
    ledger = walked("plain-rolling", "passed 2024-03-01, repaired 2025-02-25", as_of="2025-02-26")
    assert lines(ledger) == ["opens 2024-12-31 due 2025-03-01"]
    assert ledger.obligations[0].prompts == ()


def test_an_incident_asks_for_a_test_only_where_the_rulebook_says_so() -> None:
    told = "passed 2024-03-01, incident 2024-05-10"
    assert lines(walked("plain-rolling", told, as_of="2024-05-11")) == [
        "(opens 2024-12-31 due 2025-03-01)"
    ]
    ledger = walked(with_rules("plain-rolling", INCIDENT), told, as_of="2024-05-11")
    assert lines(ledger) == ["opens 2024-05-10 due 2024-05-15"]
