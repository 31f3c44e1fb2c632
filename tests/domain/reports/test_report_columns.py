"""Headers of test sheets are recognised by the trade's words, and nothing is guessed."""

from __future__ import annotations

import pytest

from reports.domain.readings import ReadingName as R
from reports.domain.report_columns import ReportField, reading_meant, recognise

HEADER = (
    "Serial,Make,Test Date,Tester Cert,Tester,Cert Expires,Gauge Serial,Gauge Calibrated,Line PSI,"
    "Initial RV,Initial CK1,Initial CK2,CK2 Tight,Initial Air Inlet,AI Fully Open,Initial Check,"
    "Bypass RV,Bypass CK1,Bypass CK2,Bypass CK2 Tight,Meter Moved,SOV2 Tight,Repairs,Final RV,"
    "Final CK1,Final CK2,Final CK2 Tight,Final Air Inlet,Final Check,Result,Remarks"
)


def test_every_column_of_an_office_sheet_is_recognised() -> None:
    columns = recognise(HEADER.split(","), saved={})
    assert columns.strange == ()
    assert set(columns.fields) == set(list(ReportField)[:15]) - {
        ReportField.TYPE,
        ReportField.TESTED_AT,
        ReportField.UNIT,
    }
    assert set(columns.initial) == set(R) - {R.CHECK1_TIGHT, R.SHUTOFF1_TIGHT}
    assert columns.twins == {
        R.RELIEF,
        R.CHECK1,
        R.CHECK2,
        R.CHECK2_TIGHT,
        R.AIR_INLET,
        R.CHECK,
    }


@pytest.mark.parametrize(
    ("header", "is_final", "name"),
    [
        ("As Found Check Valve #1", False, R.CHECK1),
        ("CV1", False, R.CHECK1),
        ("1st Check (psid)", False, R.CHECK1),
        ("Final Check Valve No. 2 closed tight", True, R.CHECK2_TIGHT),
        ("RV opened at", False, R.RELIEF),
        ("Relief Valve Opening Point", False, R.RELIEF),
        ("After repair relief valve opened at", True, R.RELIEF),
        ("final_bypass_check1", True, R.BYPASS_CHECK1),
        ("Final Bypass CK2 Tight", True, R.BYPASS_CHECK2_TIGHT),
        ("Air Inlet Fully Open", False, R.AIR_INLET_FULL),
        ("AI opened at", False, R.AIR_INLET),
        ("PVB Check", False, R.CHECK),
        ("Shut-off 2 tight", False, R.SHUTOFF2_TIGHT),
        ("SOV1 Tight", False, R.SHUTOFF1_TIGHT),
        ("Bypass meter registers", False, R.METER_MOVED),
    ],
)
def test_a_reading_may_be_headed_in_many_ways(header: str, is_final: bool, name: R) -> None:
    assert reading_meant(header.replace("_", " ")) == (is_final, name)


@pytest.mark.parametrize(
    "header",
    ["SOV3 Tight", "Meter Reading", "CK2 Leaked", "CK3", "Relief valve did not open", "Final", ""],
)
def test_a_header_that_says_something_else_is_no_reading(header: str) -> None:
    assert reading_meant(header) is None


def test_a_second_column_for_one_thing_and_a_strange_one_are_named() -> None:
    columns = recognise(["Serial", "S/N", "CK1", "Initial CK1", "Weather"], saved={})
    assert columns.strange == ("S/N", "Initial CK1", "Weather")


def test_a_program_reads_a_header_its_own_way_or_leaves_it_out() -> None:
    saved = {"WEATHER": "remarks", "CK1": "", "RELIEFKPA": "final_relief"}
    columns = recognise(["Weather", "CK1", "Relief kPa", "Remarks"], saved=saved)
    assert columns.fields == {ReportField.REMARKS: "Weather"}
    assert columns.final == {R.RELIEF: "Relief kPa"}
    assert columns.initial == {}
    assert columns.strange == ("CK1", "Remarks")


def test_of_two_headers_for_one_thing_the_more_telling_counts() -> None:
    columns = recognise(["Date", "Test Date", "Gauge", "Gauge Serial"], saved={})
    assert columns.fields[ReportField.TESTED_ON] == "Test Date"
    assert columns.fields[ReportField.GAUGE_SERIAL] == "Gauge Serial"
    assert columns.strange == ("Date", "Gauge")
