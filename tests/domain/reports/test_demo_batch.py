"""The demo's batch of 342 reports, held against a plain judge that knows nothing of ours."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path

from registry.domain.assembly_types import read_type
from registry.domain.cells import UnreadableCellError
from registry.domain.identity import maker_key, serial_key
from registry.domain.kinds import DateOrder
from reports.domain.near_serials import KnownSerial, SerialIndex
from reports.domain.report_columns import ReportColumns, recognise
from reports.domain.report_rows import FieldReport, read_report
from reports.domain.two_parts import BothParts, judge_parts
from tests.domain.reports.cases import limits

DEMO = Path(__file__).resolve().parents[3] / "fixtures" / "demo"
AS_OF = date(2026, 11, 25)
Row = Mapping[str, str]


def rows(name: str) -> list[dict[str, str]]:
    with (DEMO / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@cache
def registry() -> dict[tuple[str, str], str]:
    """Type by maker and serial; of two differing rows the first stands."""
    found: dict[tuple[str, str], str] = {}
    for row in rows("registry.csv"):
        try:
            kind = read_type(row["BFP Type"]).value
        except UnreadableCellError:
            continue
        found.setdefault((maker_key(row["Make"]), serial_key(row["Serial No."])), kind)
    return found


@cache
def columns() -> ReportColumns:
    return recognise(list(rows("tests.csv")[0]), saved={})


def reports() -> list[tuple[Row, FieldReport]]:
    found: list[tuple[Row, FieldReport]] = []
    for number, row in enumerate(rows("tests.csv"), start=2):
        report = read_report(
            row=number, cells=row, columns=columns(), order=DateOrder.MONTH_FIRST, as_of=AS_OF
        )
        assert isinstance(report, FieldReport), report
        found.append((row, report))
    return found


def type_of(report: FieldReport) -> str | None:
    return registry().get((report.maker_key, report.serial_key))


def judged(report: FieldReport, kind: str) -> BothParts:
    return judge_parts(
        limits("usc10"),
        assembly_type=read_type(kind),
        unit=report.unit,
        initial=report.initial,
        final=report.final,
        twins=columns().twins,
        repaired=bool(report.repairs),
    )


def hundredths(text: str) -> int:
    """A figure of the sheet in hundredths; the sheet writes no more than two places."""
    whole, _, part = text.replace(",", ".").partition(".")
    return int(whole) * 100 + int((part + "00")[:2])


def plainly(row: Row, kind: str, *, part: str) -> str:
    """USC manual, 10th edition, as trade tables print it, on whole hundredths of a psid.

    RP: relief >= 2.0, check 1 >= 5.0 and above relief, check 2 tight; DC: each check >= 1.0;
    PVB and SVB: air inlet and check >= 1.0; a detector's bypass likewise.
    """

    def meets(relief: str, check1: str, check2: str, tight: str) -> bool:
        if kind.startswith("RP"):
            r, c = hundredths(row[relief]), hundredths(row[check1])
            return r >= 200 and c >= 500 and c > r and row[tight] == "Y"
        return hundredths(row[check1]) >= 100 and hundredths(row[check2]) >= 100

    if kind in {"PVB", "SVB"}:
        readings = (hundredths(row[f"{part} Air Inlet"]), hundredths(row[f"{part} Check"]))
        return "pass" if min(readings) >= 100 and row["AI Fully Open"] == "Y" else "fail"
    tight = "CK2 Tight" if part == "Initial" else "Final CK2 Tight"
    good = meets(f"{part} RV", f"{part} CK1", f"{part} CK2", tight)
    if kind.endswith("DA"):
        good = good and meets("Bypass RV", "Bypass CK1", "Bypass CK2", "Bypass CK2 Tight")
    return "pass" if good else "fail"


def test_every_report_of_the_batch_is_judged_as_the_plain_judge_would() -> None:
    compared = 0
    for row, report in reports():
        kind = type_of(report)
        if kind is None:
            continue
        found = judged(report, kind)
        assert found.initial.outcome == plainly(row, kind, part="Initial"), row
        assert (found.final is not None) == bool(row["Repairs"])
        if found.final is not None:
            assert found.final.outcome == plainly(row, kind, part="Final"), row
        compared += 1
    assert compared == 338


def test_four_serials_read_backwards_are_found_by_what_they_resemble() -> None:
    index = SerialIndex.of(
        KnownSerial(serial=serial, maker=maker, serial_key=serial, maker_key=maker)
        for maker, serial in registry()
    )
    unknown = [report for _, report in reports() if type_of(report) is None]
    assert len(unknown) == 4
    for report in unknown:
        near = index.near(serial_key=report.serial_key, maker_key=report.maker_key)
        assert [one.serial for one in near] == [report.serial[::-1]]


def test_thirteen_reports_declare_a_pass_that_their_readings_deny() -> None:
    denied = 0
    for row, report in reports():
        kind = type_of(report)
        if kind is None or row["Result"] != "PASS":
            continue
        denied += judged(report, kind).outcome != "pass"
    assert denied == 13


def test_seven_decimal_commas_are_read_and_warned() -> None:
    warned = [report for _, report in reports() if report.warnings]
    assert len(warned) == sum(row["Initial CK1"].count(",") for row, _ in reports()) == 7
