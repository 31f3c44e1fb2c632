"""Tester and gauge are held against the program's own record on the day of the test."""

from __future__ import annotations

from datetime import date

import pytest

from registry.domain.kinds import DateOrder
from reports.domain.admissibility import (
    Admissibility,
    CredentialRecord,
    KnownGauge,
    KnownTester,
    Term,
    admissibility,
)
from reports.domain.report_columns import recognise
from reports.domain.report_rows import FieldReport, read_report

ALWAYS = (Term(first=date(2023, 3, 31), last=None),)
TESTER = KnownTester(
    tester_id=7,
    firm_id=1,
    certificate="T-1",
    name="Ansel Abernethy-Holt",
    terms=(Term(first=date(2023, 3, 31), last=date(2026, 3, 31)),),
    accepted=ALWAYS,
    firm_accepted=ALWAYS,
)
GAUGE = KnownGauge(
    gauge_id=9,
    firm_id=1,
    serial="G1",
    calibrated_on=(date(2024, 2, 29), date(2025, 1, 15)),
    accepted=ALWAYS,
)


def record(
    *, testers: tuple[KnownTester, ...] = (TESTER,), gauges: tuple[KnownGauge, ...] = (GAUGE,)
) -> CredentialRecord:
    return CredentialRecord(
        testers={"T-1": testers} if testers else {},
        gauges={"G1": gauges} if gauges else {},
        calibration_months=12,
        calibration_citation="WAC 246-292-034(5)",
    )


def report(on: str, cells: dict[str, str]) -> FieldReport:
    row = {"Serial": "A1", "Test Date": on, "Tester Cert": "T-1", "Gauge": "G1", **cells}
    found = read_report(
        row=2,
        cells=row,
        columns=recognise(list(row), saved={}),
        order=DateOrder.MONTH_FIRST,
        as_of=date(2026, 11, 25),
    )
    assert isinstance(found, FieldReport)
    return found


def weighed(
    on: str, known: CredentialRecord | None = None, cells: dict[str, str] | None = None
) -> Admissibility:
    return admissibility(report=report(on, cells or {}), record=known or record())


# A test dated after calibration + 12 months, or before it, does not count (annual check:
# WAC 246-292-034(5)); 29 February + 12 months is 28 February.
@pytest.mark.parametrize(
    ("on", "counts"),
    [
        ("2024-02-28", False),
        ("2024-02-29", True),
        ("2025-01-14", True),
        ("2025-01-15", True),
        ("2026-01-15", True),
        ("2026-01-16", False),
    ],
)
def test_a_calibration_holds_twelve_months_to_the_day(on: str, counts: bool) -> None:
    assert weighed(on).counts is counts


def test_february_29_holds_to_february_28() -> None:
    leap = KnownGauge(
        gauge_id=9, firm_id=1, serial="G1", calibrated_on=(date(2024, 2, 29),), accepted=ALWAYS
    )
    assert weighed("2025-02-28", record(gauges=(leap,))).counts
    assert not weighed("2025-03-01", record(gauges=(leap,))).counts


# An expired tester's test does not count (Utah R309-305).
def test_a_certificate_counts_on_its_last_day_and_not_on_the_next() -> None:
    later = KnownGauge(
        gauge_id=9, firm_id=1, serial="G1", calibrated_on=(date(2026, 1, 1),), accepted=ALWAYS
    )
    known = record(gauges=(later,))
    assert weighed("2026-03-31", known).counts
    found = weighed("2026-04-01", known)
    assert not found.counts
    assert "2026-03-31" in found.reasons[0]
    assert found.tester_id == 7


def test_what_only_the_report_names_is_not_verified() -> None:
    for known in (record(testers=()), record(gauges=())):
        found = weighed("2025-06-01", known)
        assert not found.counts
        assert "not verified" in found.reasons[0]
    assert not weighed("2025-06-01", cells={"Tester Cert": ""}).counts
    assert not weighed("2025-06-01", cells={"Gauge": ""}).counts


def test_a_report_without_its_gauges_serial_does_not_count() -> None:
    # WAC 246-292-034(5), Texas: the gauge's serial stands on every report
    found = weighed("2025-06-01", cells={"Gauge": ""})
    assert not found.counts
    assert "No gauge serial on the report: the gauge is not verified." in found.reasons


def test_an_acceptance_that_has_not_begun_or_has_ended_does_not_count() -> None:
    ended = (Term(first=date(2023, 1, 1), last=date(2025, 5, 31)),)
    for part in ("accepted", "firm_accepted"):
        tester = KnownTester(**{**TESTER.__dict__, part: ended})
        assert weighed("2025-05-31", record(testers=(tester,))).counts
        assert not weighed("2025-06-01", record(testers=(tester,))).counts
    gauge = KnownGauge(**{**GAUGE.__dict__, "accepted": ended})
    assert not weighed("2025-06-01", record(gauges=(gauge,))).counts


def test_the_record_decides_where_a_report_says_another_calibration_or_end() -> None:
    said = {"Gauge Calibrated": "2026-01-01", "Cert Expires": "2029-03-31"}
    found = weighed("2026-02-01", cells=said)
    assert not found.counts
    assert len(found.warnings) == 2
    assert all("the record decides" in warning for warning in found.warnings)
    agreeing = {"Gauge Calibrated": "1/15/25", "Cert Expires": "31-Mar-26"}
    assert weighed("2025-06-01", cells=agreeing).warnings == []


def test_a_gauge_of_another_testing_company_and_another_name_are_warned() -> None:
    lent = KnownGauge(**{**GAUGE.__dict__, "firm_id": 2})
    found = weighed("2025-06-01", record(gauges=(lent,)), {"Tester": "Somebody Else"})
    assert found.counts
    assert len(found.warnings) == 2


def test_of_two_gauges_with_one_serial_the_testers_own_is_meant() -> None:
    other = KnownGauge(**{**GAUGE.__dict__, "gauge_id": 8, "firm_id": 2, "calibrated_on": ()})
    found = weighed("2025-06-01", record(gauges=(other, GAUGE)))
    assert found.counts
    assert found.gauge_id == 9


def test_spelling_of_certificate_and_serial_in_other_case_is_the_same() -> None:
    assert weighed("2025-06-01", cells={"Tester Cert": " t-1 ", "Gauge": "g1"}).counts
