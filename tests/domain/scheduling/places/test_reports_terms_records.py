"""Reports, credentials, records and the year's ratio as published, worked out by hand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from scheduling.domain.facts import Fact, FactKind, Hindrance
from scheduling.domain.ratios import ratio_found
from scheduling.domain.reporting import holds_on, report_due
from scheduling.domain.rulebook import Topic
from scheduling.domain.standing import Standing, standing
from tests.domain.scheduling.places.atlas import (
    DC,
    NO_LADDER,
    TEST_KIND,
    YEARLY,
    lived,
    place,
    rules,
)

THANKSGIVING = frozenset({date(2026, 11, 26)})


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("oregon", "2026-12-09"),  # 10 working days
        ("harker-heights-tx", "2026-12-09"),  # 10 working days
        ("kansas-city-mo", "2026-11-29"),  # 5 days
    ],
)
def test_a_report_is_due_so_many_days_after_the_test(name: str, expected: str) -> None:
    found = report_due(
        rulebook=place(name),
        about=FactKind.PASSED,
        attributes=DC,
        done_on=date(2026, 11, 24),
        holidays=THANKSGIVING,
    )
    assert found is not None
    assert found.on.isoformat() == expected
    assert found.reason.citation == place(name).reports[0].citation


@pytest.mark.parametrize(
    ("source", "days", "is_working", "expected"),
    [
        ("the shortest in print: 2 business days", 2, True, "2026-11-27"),  # 25, 27 November
        ("Boulder CO: report of a failing test within 3 d", 3, False, "2026-11-27"),
        ("Austin TX: 5 d", 5, False, "2026-11-29"),
        ("Copper Mountain CO: failed test reported within 10 d", 10, False, "2026-12-04"),
        ("Burnaby BC: 10 d", 10, False, "2026-12-04"),
        ("Beaverton OR: 10 d", 10, False, "2026-12-04"),
        ("Rutland BC: 30 d", 30, False, "2026-12-24"),
    ],
)
def test_other_report_days_in_print(
    source: str, days: int, is_working: bool, expected: str
) -> None:
    report = (
        f'[[report]]\nid = "report"\ndays = {days}\nis_working = {str(is_working).lower()}\n'
        f'citation = "{source}"\n\n'
    )
    found = report_due(
        rulebook=rules(TEST_KIND + "\n" + YEARLY + "\n" + report + NO_LADDER),
        about=FactKind.FAILED,
        attributes=DC,
        done_on=date(2026, 11, 24),
        holidays=THANKSGIVING,
    )
    assert found is not None
    assert found.on.isoformat() == expected


def test_massachusetts_a_new_installation_is_reported_within_14_days() -> None:
    # local code on 310 CMR 22.22, 1988-era text
    book = place("massachusetts-1988")
    day = date(2026, 2, 20)
    new = report_due(rulebook=book, about=FactKind.INSTALLED, attributes=DC, done_on=day)
    assert new is not None
    assert new.on == date(2026, 3, 6)
    assert report_due(rulebook=book, about=FactKind.PASSED, attributes=DC, done_on=day) is None


@pytest.mark.parametrize(
    ("source", "months", "last_day", "too_late"),
    [
        ("New York, Utah, Missouri: 3 years", 36, date(2029, 2, 28), date(2029, 3, 1)),
        ("Los Angeles County: 2 years", 24, date(2028, 2, 28), date(2028, 2, 29)),
    ],
)
def test_a_certificate_holds_its_term_and_no_longer(
    source: str, months: int, last_day: date, too_late: date
) -> None:
    # Utah R309-305: an expired tester's test does not count
    since = date(2026, 2, 28)
    assert holds_on(since=since, months=months, day=last_day), source
    assert not holds_on(since=since, months=months, day=too_late), source


def test_missouri_testers_hold_three_years() -> None:
    tester = place("kansas-city-mo").credentials.tester
    assert tester is not None
    assert tester.months == 36


@pytest.mark.parametrize("name", ["cross-valley-wa", "highland-wa", "harker-heights-tx"])
def test_a_gauge_is_calibrated_once_a_year(name: str) -> None:
    # WAC 246-292-034(5), Texas: a test after calibration + 12 months, or before it, counts not
    months, since = place(name).credentials.gauge_months, date(2024, 2, 29)
    assert months == 12
    assert holds_on(since=since, months=months, day=date(2025, 2, 28))
    assert not holds_on(since=since, months=months, day=date(2025, 3, 1))
    assert not holds_on(since=since, months=months, day=date(2024, 2, 28))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("harker-heights-tx", ["Records are kept 3 years."]),  # Texas cities
        ("kansas-city-mo", ["Records are kept 5 years."]),
        (
            "hernando-county-fl",
            ["Test reports are kept 5 years.", "Annual and incident reports are kept 10 years."],
        ),
    ],
)
def test_how_long_records_are_kept(name: str, words: list[str]) -> None:
    kept = [rule for rule in place(name).provisions if rule.topic is Topic.RETENTION]
    assert [rule.words for rule in kept] == words


def test_what_a_report_must_carry_in_washington() -> None:
    # WAC 246-292-036
    (carried,) = (
        rule for rule in place("highland-wa").provisions if rule.topic is Topic.REPORT_CONTENT
    )
    assert "the gauge's serial" in carried.words
    assert "WAC 246-292-036" in carried.citation


@pytest.mark.parametrize(
    ("hindrance", "counts_as", "expected"),
    [
        (Hindrance.SUBMERGED, "failed", Standing.FAILED),  # Crossville TN
        (Hindrance.TEST_COCKS_MISSING, "failed", Standing.FAILED),
        (Hindrance.RELIEF_RUNNING, "failed", Standing.FAILED),
        (Hindrance.UNAPPROVED_INSTALLATION, "failed", Standing.FAILED),  # Austin TX
        (Hindrance.NO_ACCESS, "not tested", Standing.DUE),  # common practice
    ],
)
def test_what_could_not_be_tested_counts_as(
    hindrance: Hindrance, counts_as: str, expected: Standing
) -> None:
    rule = (
        f'[[hindrance]]\nid = "h"\nhindrances = ["{hindrance}"]\ncounts_as = "{counts_as}"\n'
        'citation = "Crossville TN; Austin TX; no access: common practice"\n\n'
    )
    book = rules(TEST_KIND + "\n" + YEARLY + "\n" + rule + NO_LADDER)
    told = [
        Fact(kind=FactKind.PASSED, on=date(2025, 6, 2)),
        Fact(kind=FactKind.UNTESTABLE, on=date(2026, 5, 20), hindrance=hindrance),
    ]
    ledger = lived(book, told, as_of="2026-05-21")
    assert standing(ledger, date(2026, 5, 21)) is expected
    assert ledger.questions == ()
    silent = rules(TEST_KIND + "\n" + YEARLY + "\n" + NO_LADDER)
    (asked,) = lived(silent, told, as_of="2026-05-21").questions
    assert asked.startswith(f"could not be tested on 2026-05-20 ({hindrance.value})")


@pytest.mark.parametrize(
    ("tested", "of", "is_met", "missing"),
    [
        (369, 410, True, 0),  # Colorado Reg. 11.39: 400 + 10 = 410, 369 / 410 = 0.90
        (368, 410, False, 1),
        (9, 10, True, 0),
        (8, 10, False, 1),
        (1, 1, True, 0),
        (0, 1, False, 1),
        (0, 0, True, 0),
        (88, 100, False, 2),  # Boulder CO 2021: 88 % against a 90 % rule
        (76, 100, False, 14),  # Boulder CO 2022: 76 %
    ],
)
def test_the_ratio_of_a_calendar_year(tested: int, of: int, is_met: bool, missing: int) -> None:
    (rule,) = place("colorado-calendar-year").ratios
    assert rule.share == Decimal("0.90")
    found = ratio_found(rule=rule, tested=tested, of=of, year=2026)
    assert (found.is_met, found.missing) == (is_met, missing)
    assert found.chased_by == date(2027, 3, 31)  # 31 + 28 + 31 = 90 days


def test_more_tested_than_there_are_is_refused() -> None:
    (rule,) = place("colorado-calendar-year").ratios
    with pytest.raises(ValueError, match="11 tested of 10"):
        ratio_found(rule=rule, tested=11, of=10, year=2026)
