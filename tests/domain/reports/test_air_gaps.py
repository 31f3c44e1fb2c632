"""Air gaps are measured: WAC 246-290-010, twice the supply and never below an inch."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.air_gaps import AirGap, judge_gap, least_gap

eighths = st.integers(min_value=1, max_value=96).map(lambda n: Decimal(n) / 8)


# WAC 246-290-010: at least twice the diameter of the supply, in no case less than one inch; by a
# wall three times, in no case less than one and a half inches.
@pytest.mark.parametrize(
    ("supply", "by_wall", "least"),
    [
        ("0.25", False, "1"),
        ("0.5", False, "1.0"),
        ("0.75", False, "1.50"),
        ("2", False, "4"),
        ("0.25", True, "1.5"),
        ("0.5", True, "1.5"),
        ("0.75", True, "2.25"),
        ("2", True, "6"),
    ],
)
def test_the_published_rule_asks_these_gaps(supply: str, by_wall: bool, least: str) -> None:
    assert least_gap(supply_in=Decimal(supply), is_by_wall=by_wall) == Decimal(least)


@given(gap=eighths, supply=eighths, by_wall=st.booleans())
def test_a_gap_passes_exactly_where_it_reaches_both_limits(
    gap: Decimal, supply: Decimal, by_wall: bool
) -> None:
    times, least = (3, Decimal("1.5")) if by_wall else (2, Decimal(1))
    found = judge_gap(AirGap(gap_in=gap, supply_in=supply, is_by_wall=by_wall))
    assert (found.outcome == "pass") == (gap >= times * supply and gap >= least)
    assert found.margin_in == gap - found.limit_in


def test_a_gap_a_hair_below_its_limit_fails_and_its_reason_names_the_rule() -> None:
    found = judge_gap(AirGap(gap_in=Decimal("1.99"), supply_in=Decimal(1), is_by_wall=False))
    assert found.outcome == "fail"
    assert "WAC 246-290-010" in found.reason


@pytest.mark.parametrize(("gap", "supply"), [("-1", "1"), ("1", "0"), ("121", "1")])
def test_what_measures_nothing_is_refused(gap: str, supply: str) -> None:
    with pytest.raises(ValueError, match="diameter above 0"):
        judge_gap(AirGap(gap_in=Decimal(gap), supply_in=Decimal(supply), is_by_wall=False))
