"""A row becomes a report, or every fault that sets it aside."""

from __future__ import annotations

from datetime import date, time

import pytest

from registry.domain.cells import Fault
from registry.domain.kinds import DateOrder
from reports.domain.report_columns import recognise
from reports.domain.report_rows import FieldReport, read_report

AS_OF = date(2026, 11, 25)
GOOD = {
    "Serial": "E699871",
    "Make": "Tidemark",
    "Test Date": "11/08/2026",
    "Tester Cert": "T-1006",
    "Cert Expires": "3/31/26",
    "Gauge Serial": "G6776",
    "Gauge Calibrated": "45672",
    "Line PSI": "82",
    "Initial RV": "2.6",
    "Initial CK1": "5.6",
    "CK2 Tight": "Y",
    "Repairs": "",
    "Final RV": "",
    "Result": "PASS",
}


def read(**cells: str) -> FieldReport | list[Fault]:
    return read_in(DateOrder.MONTH_FIRST, cells)


def read_in(order: DateOrder, cells: dict[str, str]) -> FieldReport | list[Fault]:
    row = {**GOOD, **{name.replace("_", " "): text for name, text in cells.items()}}
    columns = recognise(list(row), saved={})
    return read_report(row=2, cells=row, columns=columns, order=order, as_of=AS_OF)


def report(**cells: str) -> FieldReport:
    found = read(**cells)
    assert isinstance(found, FieldReport), found
    return found


def test_a_row_is_read_with_its_dates_in_the_programs_order() -> None:
    found = report()
    assert found.tested_on == date(2026, 11, 8)
    assert found.certificate_ends_on == date(2026, 3, 31)
    assert found.gauge_calibrated_on == date(2025, 1, 15)
    day_first = read_in(DateOrder.DAY_FIRST, {"Cert Expires": ""})
    assert isinstance(day_first, FieldReport)
    assert day_first.tested_on == date(2026, 8, 11)


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("Serial", ""),
        ("Serial", "n/a"),
        ("Test Date", ""),
        ("Test Date", "31/31/2026"),
        ("Test Date", "11/26/2026"),
        ("Initial RV", "-1"),
        ("Initial CK1", "abc"),
        ("CK2 Tight", "perhaps"),
        ("Final RV", "1e3"),
    ],
)
def test_what_cannot_be_read_names_row_column_and_value(column: str, text: str) -> None:
    (fault,) = found if isinstance(found := read(**{column: text}), list) else []
    assert (fault.row, fault.column, fault.value) == (2, column, text)
    assert fault.message


def test_every_fault_of_a_row_is_told() -> None:
    found = read(Serial="", Test_Date="never", Initial_RV="x", Final_RV="-2")
    assert isinstance(found, list)
    assert [fault.column for fault in found] == ["Serial", "Test Date", "Initial RV", "Final RV"]


def test_the_day_itself_is_no_future() -> None:
    assert report(Test_Date="2026-11-25").tested_on == AS_OF


def test_a_time_is_read_beside_the_day_and_midnight_is_a_spreadsheets_way_of_having_none() -> None:
    assert report(Test_Date="11/08/2026 14:05").tested_at == time(14, 5)
    assert report(Test_Date="11/08/2026 0:00").tested_at is None
    assert report(Time="9:30 AM").tested_at == time(9, 30)
    assert report().tested_at is None


@pytest.mark.parametrize("text", ["", "N", "no", "none", "n/a", "No repairs"])
def test_no_repair_may_be_said_in_many_ways(text: str) -> None:
    assert report(Repairs=text).repairs == ""
    assert report(Repairs="cleaned RV seat").repairs == "cleaned RV seat"


def test_what_the_record_decides_anyway_is_only_warned() -> None:
    found = report(Cert_Expires="soon", Gauge_Calibrated="yes", Result="fine?")
    assert len(found.warnings) == 3
    assert found.certificate_ends_on is None
    assert found.declared is None


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("Test Date", "2026-11-08"),
        ("Test Date", "8-Nov-26"),
        ("Initial RV", "2,60"),
        ("Initial CK1", "05.6"),
        ("CK2 Tight", "yes"),
        ("Serial", " e699871 "),
        ("Make", "TIDEMARK"),
        ("Line PSI", "82.0"),
        ("Result", "pass"),
        ("Final RV", " "),
        ("Repairs", "none"),
    ],
)
def test_the_same_report_written_otherwise_has_the_same_digest(column: str, text: str) -> None:
    assert report(**{column: text}).digest() == report().digest()


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("Test Date", "2026-11-09"),
        ("Initial RV", "2.7"),
        ("Initial RV", ""),
        ("Final RV", "2.6"),
        ("Repairs", "cleaned"),
        ("Serial", "E699872"),
        ("Make", "Northfork"),
        ("Result", "FAIL"),
    ],
)
def test_another_report_has_another_digest(column: str, text: str) -> None:
    assert report(**{column: text}).digest() != report().digest()
