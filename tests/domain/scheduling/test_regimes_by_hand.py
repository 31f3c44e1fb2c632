"""Rolling, anniversary and season worked by hand, the arithmetic beside each case."""

from __future__ import annotations

from datetime import date

import pytest

from registry.domain.kinds import AssemblyType
from scheduling.domain.obligations import ClosedHow
from scheduling.domain.rulebook import Attributes
from tests.domain.scheduling.histories import (
    HIGH_RP,
    changed,
    lines,
    walked,
)

# Point 4: rolling


def test_rolling_counts_from_the_last_pass_whatever_the_due_date_was() -> None:
    told = "installed 2023-01-05, passed 2023-01-09, passed 2024-02-20"
    ledger = walked("plain-rolling", told, as_of="2024-03-01")
    assert lines(ledger) == [
        "opens 2023-01-05 due 2023-01-15 met 2023-01-09",
        "opens 2023-11-10 due 2024-01-09 met 2024-02-20",  # 60 days before 9 January
        "(opens 2024-12-22 due 2025-02-20)",
    ]


def test_a_pass_that_meets_what_is_not_yet_open_opens_and_closes_it_that_day() -> None:
    ledger = walked("plain-rolling", "passed 2024-03-01, passed 2024-07-01", as_of="2024-08-01")
    assert lines(ledger)[0] == "opens 2024-07-01 due 2025-03-01 met 2024-07-01"


def test_an_rp_on_high_hazard_is_due_in_six_months_clamped_to_the_months_end() -> None:
    ledger = walked("plain-rolling", "passed 2023-08-31", as_of="2023-09-01", attributes=HIGH_RP)
    assert lines(ledger) == ["(opens 2023-12-31 due 2024-02-29)"]


def test_a_hazard_nobody_assessed_is_treated_as_high() -> None:
    ledger = walked(
        "plain-rolling",
        "passed 2024-03-01",
        as_of="2024-03-02",
        attributes=Attributes(type=AssemblyType.RPDA_II),
    )
    assert lines(ledger) == ["(opens 2024-07-03 due 2024-09-01)"]


def test_it_opens_no_earlier_than_the_pass_it_counts_from() -> None:
    monthly = changed("plain-rolling", ('every = "FREQ=YEARLY"', 'every = "FREQ=MONTHLY"'))
    ledger = walked(monthly, "passed 2024-03-01", as_of="2024-03-01")
    assert lines(ledger) == ["opens 2024-03-01 due 2024-04-01"]


# Point 5: anniversary


def test_a_pass_in_the_window_or_late_keeps_the_anniversary() -> None:
    told = "installed 2022-06-10, passed 2022-06-15, passed 2023-04-26, passed 2024-08-01"
    ledger = walked("plain-anniversary", told, as_of="2024-09-01")
    assert lines(ledger) == [
        "opens 2022-06-10 due 2022-06-20 met 2022-06-15",
        "opens 2023-04-26 due 2023-06-10 met 2023-04-26",  # 45 days before: the first day
        "opens 2024-04-26 due 2024-06-10 met 2024-08-01",  # late
        "(opens 2025-04-26 due 2025-06-10)",
    ]


def test_a_pass_before_the_window_becomes_the_anchor_and_leaves_no_row() -> None:
    told = "installed 2022-06-10, passed 2022-06-15, passed 2023-04-25"
    ledger = walked("plain-anniversary", told, as_of="2023-05-01")
    assert lines(ledger) == [
        "opens 2022-06-10 due 2022-06-20 met 2022-06-15",
        "(opens 2024-03-11 due 2024-04-25)",
    ]


@pytest.mark.parametrize("event", ["repaired", "relocated"])
def test_the_first_pass_after_a_repair_or_relocation_never_moves_the_anchor(event: str) -> None:
    told = f"installed 2022-06-10, passed 2022-06-15, {event} 2023-02-01, passed 2023-02-03"
    ledger = walked("plain-anniversary", told, as_of="2023-03-01")
    assert lines(ledger)[1:] == [
        "opens 2023-02-01 due 2023-02-11 met 2023-02-03",
        "(opens 2023-04-26 due 2023-06-10)",  # still owed
    ]


def test_a_late_first_pass_goes_to_the_first_anniversary_whose_window_opens_after_it() -> None:
    ledger = walked(
        "plain-anniversary", "installed 2022-06-10, passed 2023-05-01", as_of="2023-06-01"
    )
    assert lines(ledger)[1:] == ["(opens 2024-04-26 due 2024-06-10)"]


def test_without_an_installation_the_first_pass_is_the_anchor() -> None:
    ledger = walked("plain-anniversary", "passed 2022-06-15", as_of="2022-07-01")
    assert lines(ledger) == ["(opens 2023-05-01 due 2023-06-15)"]


def test_an_anniversary_of_29_february_returns_to_it_in_the_next_leap_year() -> None:
    told = "installed 2020-02-29, passed 2020-03-02, passed 2021-02-20, passed 2022-02-20"
    told += ", passed 2023-02-20, passed 2024-02-20"
    ledger = walked("plain-anniversary", told, as_of="2024-03-01")
    assert [each.due_on for each in ledger.obligations[1:]] == [
        date(2021, 2, 28),
        date(2022, 2, 28),
        date(2023, 2, 28),
        date(2024, 2, 29),
    ]


def test_a_cap_holds_the_due_date_within_a_year_of_the_last_pass() -> None:
    # Oro Valley AZ 15-23-13: the date may not move past 12 months from the last test
    capped = changed(
        "plain-anniversary", ("early_days = 45", 'early_days = 45\ncap = "FREQ=YEARLY"')
    )
    told = "installed 2022-06-10, passed 2022-06-15, passed 2023-04-26"
    ledger = walked(capped, told, as_of="2023-05-01")
    # anniversary 2024-06-10, last pass + 12 months = 2024-04-26
    assert lines(ledger)[-1] == "(opens 2024-03-12 due 2024-04-26)"
    again = walked(capped, f"{told}, passed 2024-04-20", as_of="2024-05-01")
    # met in the capped date's window, so 2024-06-10 is met and not asked seven weeks later again:
    # next 2025-06-10, capped at 2024-04-20 + 12 months
    assert lines(again)[-1] == "(opens 2025-03-06 due 2025-04-20)"


def test_an_early_cure_without_a_repair_re_anchors() -> None:
    told = "installed 2022-06-10, passed 2022-06-15, failed 2023-01-10, passed 2023-01-12"
    ledger = walked("plain-anniversary", told, as_of="2023-02-01")
    assert lines(ledger)[1:] == [
        "opens 2023-01-10 due 2023-06-10 cure 2023-01-31 met 2023-01-12",
        "(opens 2023-11-28 due 2024-01-12)",
    ]


# Point 6: season


@pytest.mark.parametrize(
    ("passed", "next_due"),
    [
        ("2024-09-30", "2025-05-31"),  # the last day of the credit of 2024
        ("2024-10-01", "2026-05-31"),  # the first day of the credit of 2025
        ("2025-05-31", "2026-05-31"),
        ("2025-09-30", "2026-05-31"),
    ],
)
def test_a_pass_counts_for_the_season_whose_credit_holds_it(passed: str, next_due: str) -> None:
    ledger = walked("plain-season", f"passed 2024-04-01, passed {passed}", as_of="2025-10-02")
    current = ledger.current
    assert current is not None
    assert current.due_on.isoformat() == next_due


def test_an_unmet_season_stays_open_and_the_seasons_behind_it_get_no_row() -> None:
    told = "passed 2021-04-01"
    ledger = walked("plain-season", told, as_of="2024-08-01")
    assert lines(ledger) == [
        "opens 2021-04-01 due 2021-05-31 met 2021-04-01",
        "opens 2022-03-01 due 2022-05-31",
    ]
    late = walked("plain-season", f"{told}, passed 2024-08-02", as_of="2024-09-01")
    assert lines(late) == [
        "opens 2021-04-01 due 2021-05-31 met 2021-04-01",
        "opens 2022-03-01 due 2022-05-31 missed 2024-08-02",
        "opens 2024-08-02 due 2024-05-31 met 2024-08-02",
        "(opens 2025-03-01 due 2025-05-31)",
    ]


def test_a_late_pass_within_the_credit_meets_the_season() -> None:
    ledger = walked("plain-season", "passed 2021-04-01, passed 2022-09-30", as_of="2022-10-01")
    assert lines(ledger)[1] == "opens 2022-03-01 due 2022-05-31 met 2022-09-30"


def test_the_first_pass_after_installation_also_meets_its_season() -> None:
    ledger = walked("plain-season", "installed 2025-04-10, passed 2025-04-15", as_of="2025-05-01")
    assert lines(ledger) == [
        "opens 2025-04-10 due 2025-04-20 met 2025-04-15",
        "opens 2025-04-15 due 2025-05-31 met 2025-04-15",
        "(opens 2026-03-01 due 2026-05-31)",
    ]


@pytest.mark.parametrize("event", ["repaired", "failed"])
def test_a_later_season_opened_early_is_met_and_stays_owed(event: str) -> None:
    told = f"passed 2025-04-01, {event} 2025-07-01, passed 2025-07-05"
    ledger = walked("plain-season", told, as_of="2025-08-01")
    assert [each.closed_how for each in ledger.obligations] == [ClosedHow.MET, ClosedHow.MET]
    assert lines(ledger)[-1] == "(opens 2026-03-01 due 2026-05-31)"


def test_a_season_opened_early_and_passed_in_its_own_credit_is_met_for_good() -> None:
    told = "passed 2025-04-01, repaired 2025-11-15, passed 2025-11-20"
    ledger = walked("plain-season", told, as_of="2025-12-01")
    assert lines(ledger)[1:] == [
        "opens 2025-11-15 due 2025-11-25 met 2025-11-20",
        "(opens 2027-03-01 due 2027-05-31)",
    ]
