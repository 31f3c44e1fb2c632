"""Ratios, against the arithmetic derived from Colorado's rule."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from reports.domain.ratios import COLORADO_ASKS, Month, Ratio
from reports.drawing.month_bars import month_bars


def test_colorado_s_ratio_by_its_own_arithmetic() -> None:
    # Colorado Reg. 11.39 (read in part; derived check): 400 + 10 = 410, 369/410 = 0.90.
    assert Ratio(part=369, whole=400 + 10).share == Decimal("0.9")
    assert Ratio(part=369, whole=410).reaches(COLORADO_ASKS)
    assert not Ratio(part=368, whole=410).reaches(COLORADO_ASKS)


def test_a_ratio_just_below_is_not_shown_as_reached() -> None:
    assert Ratio(part=8999, whole=10_000).percent == "89.9"
    assert Ratio(part=9, whole=10).percent == "90.0"


def test_nothing_due_has_no_ratio() -> None:
    assert Ratio(part=0, whole=0).percent == ""
    assert not Ratio(part=0, whole=0).reaches(Decimal(0))


def test_a_month_counts_late_and_missing_ones_against_it() -> None:
    # Boulder CO received tests for 88 % in 2021 of devices (a yardstick in print).
    month = Month(first=date(2026, 5, 1), in_time=88, late=7, not_tested=5, is_over=True)
    assert (month.due, month.ratio.percent) == (100, "88.0")


def test_the_drawing_says_its_figures_and_leaves_an_open_month_hollow() -> None:
    months = [
        Month(first=date(2026, 1, 1), in_time=9, late=1, not_tested=0, is_over=True),
        Month(first=date(2026, 2, 1), in_time=1, late=0, not_tested=3, is_over=False),
        Month(first=date(2026, 3, 1), in_time=0, late=0, not_tested=0, is_over=False),
    ]
    drawn = month_bars(months, width=808, says="Tested in time by month: January 90.0 %.")
    assert drawn.count("solid-edge") == 1
    assert drawn.count("hollow") == 1
    assert "90.0" in drawn
