"""Testers with their certificates, gauges and calibrations into a program."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.conf import settings

from registry import models
from registry.actions.tester_load import load_testers
from registry.load_reports import LoadReport
from registry.models import (
    Approval,
    Calibration,
    Certification,
    Change,
    Firm,
    Gauge,
    LoadBatch,
    Program,
    SetAsideRow,
)
from registry.source_files import LoadRefusedError, SourceFile

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)
TODAY = date(2026, 11, 25)
HEADER = "Certificate,Name,Firm,Issued By,Valid From,Valid To,Gauge Serial,Gauge Calibrated"
GOOD = "T-1,Ansel Abernethy-Holt,Stillbrook Testing,State,2024-06-30,2027-06-30,G1,2026-02-01"


@pytest.fixture
def program() -> Program:
    return Program.objects.create(code="alder", name="Alder", created_at=NOW)


def load(program: Program, *lines: str, header: str = HEADER) -> LoadReport:
    data = "\n".join((header, *lines)).encode()
    return load_testers(
        source=SourceFile(name="testers.csv", data=data),
        program=program,
        as_of=TODAY,
        now=NOW,
        by="a test",
    )


def counts(report: LoadReport) -> tuple[int, int, int, int]:
    found = (report.created, report.updated, report.unchanged, report.set_aside)
    assert sum(found) == report.rows
    return found


def test_the_sample_list_lands_and_a_second_time_changes_nothing(program: Program) -> None:
    data = (Path(settings.BASE_DIR) / "fixtures" / "demo" / "testers.csv").read_bytes()
    source = SourceFile(name="testers.csv", data=data)
    for expected in ((7, 0, 0, 0), (0, 0, 7, 0)):
        report = load_testers(source=source, program=program, as_of=TODAY, now=NOW, by="a test")
        assert counts(report) == expected
    assert (Firm.objects.count(), models.Tester.objects.count(), Gauge.objects.count()) == (2, 7, 7)
    assert (Change.objects.count(), LoadBatch.objects.count()) == (1, 1)


def test_company_tester_and_gauge_are_approved_from_the_certificates_first_day(
    program: Program,
) -> None:
    load(program, GOOD)
    found = Approval.objects.values_list("firm__name", "tester__certificate", "gauge__serial",
                                         "valid_from", "valid_to")  # fmt: skip
    day = date(2024, 6, 30)
    assert set(found) == {
        ("Stillbrook Testing", None, None, day, None),
        ("Stillbrook Testing", "T-1", None, day, None),
        ("Stillbrook Testing", None, "G1", day, None),
    }


def test_several_rows_for_one_certificate_bring_several_gauges_and_calibrations(
    program: Program,
) -> None:
    second_gauge = GOOD.replace("G1", "G2")
    recalibrated = GOOD.replace("2026-02-01", "2025-02-03")
    assert counts(load(program, GOOD, second_gauge, recalibrated)) == (2, 1, 0, 0)
    assert models.Tester.objects.count() == 1
    assert sorted(Calibration.objects.values_list("gauge__serial", "calibrated_on")) == [
        ("G1", date(2025, 2, 3)),
        ("G1", date(2026, 2, 1)),
        ("G2", date(2026, 2, 1)),
    ]


def test_a_renewed_certificate_is_another_term_and_both_are_kept(program: Program) -> None:
    load(program, GOOD)
    renewed = GOOD.replace("2024-06-30,2027-06-30", "2027-07-01,2030-06-30")
    assert counts(load(program, renewed)) == (0, 1, 0, 0)
    assert Certification.objects.count() == 2
    assert {approval.valid_from for approval in Approval.objects.all()} == {date(2024, 6, 30)}


def test_an_earlier_term_told_later_moves_the_approval_back(program: Program) -> None:
    load(program, GOOD)
    load(program, GOOD.replace("2024-06-30,2027-06-30", "2021-06-30,2024-06-29"))
    assert {approval.valid_from for approval in Approval.objects.all()} == {date(2021, 6, 30)}


@pytest.mark.parametrize(
    ("line", "columns"),
    [
        (GOOD.replace("T-1,", ","), ["Certificate"]),
        (GOOD.replace("2024-06-30", "13/45/2020"), ["Valid From"]),
        (GOOD.replace("2027-06-30", ""), ["Valid To"]),
        (GOOD.replace("2027-06-30", "2023-06-30"), ["Valid To"]),
        (GOOD.replace("2026-02-01", "2031-01-01"), ["Gauge Calibrated"]),
        (GOOD.replace("2026-02-01", "last spring"), ["Gauge Calibrated"]),
        (GOOD.replace("Ansel Abernethy-Holt,Stillbrook Testing", ","), ["Firm"]),
        (GOOD + ",too,many", [None]),
    ],
)
def test_a_row_with_a_fault_is_set_aside_and_kept(
    program: Program, line: str, columns: list[str | None]
) -> None:
    report = load(program, line, GOOD.replace("T-1", "T-2"))
    assert counts(report) == (1, 0, 0, 1)
    assert [fault.column for fault in report.rejected] == columns
    assert SetAsideRow.objects.get().row == 2


def test_who_has_no_company_stands_alone_and_it_is_told(program: Program) -> None:
    report = load(program, GOOD.replace("Stillbrook Testing", ""))
    assert counts(report) == (1, 0, 0, 0)
    assert Firm.objects.get().name == "Ansel Abernethy-Holt"
    assert [warning.column for warning in report.warnings] == ["Firm"]


def test_a_gauge_without_a_calibration_lands_and_is_told(program: Program) -> None:
    report = load(program, GOOD.replace("2026-02-01", ""))
    assert counts(report) == (1, 0, 0, 0)
    assert Gauge.objects.count() == 1
    assert not Calibration.objects.exists()
    assert [warning.column for warning in report.warnings] == ["Gauge Calibrated"]


def test_a_certificate_with_two_companies_is_kept_twice_and_told(program: Program) -> None:
    load(program, GOOD)
    report = load(program, GOOD.replace("Stillbrook Testing", "Cinder Fork Plumbing"))
    assert models.Tester.objects.filter(certificate="T-1").count() == 2
    assert "Stillbrook Testing" in report.warnings[0].message


def test_the_companys_spelling_does_not_make_another_company(program: Program) -> None:
    load(program, GOOD, GOOD.replace("Stillbrook Testing", "STILLBROOK  TESTING"))
    assert Firm.objects.count() == 1


def test_headers_of_other_offices_are_read(program: Program) -> None:
    report = load(
        program,
        "T-9,Bea,Stillbrook Testing,6/30/24,6/30/27,G9,2/1/26",
        header="License #,Tester Name,Company,Issue Date,Expires,Test Kit Serial #,Cal Date",
    )
    assert counts(report) == (1, 0, 0, 0)
    assert set(report.columns.values()) == {
        "certificate", "name", "firm", "valid_from", "valid_to", "gauge_serial",
        "gauge_calibrated_on",
    }  # fmt: skip


def test_a_list_without_certificates_is_refused(program: Program) -> None:
    with pytest.raises(LoadRefusedError, match="certificate"):
        load(program, "red,round", header="colour,shape")


def test_one_company_may_work_for_two_programs_each_with_its_own_approval(
    program: Program,
) -> None:
    other = Program.objects.create(code="birch", name="Birch", created_at=NOW)
    load(program, GOOD)
    assert counts(load(other, GOOD)) == (0, 1, 0, 0)
    assert Firm.objects.count() == 1
    assert Approval.objects.filter(program=other).count() == 3


def test_classes_of_a_certificate_are_kept_with_its_term_and_may_come_later(
    program: Program,
) -> None:
    load(program, GOOD)
    assert Certification.objects.get().classes == ""
    report = load(program, f'{GOOD},"RP, DC"', header=f"{HEADER},Certificate Class")
    assert counts(report) == (0, 1, 0, 0)
    assert Certification.objects.get().classes == "RP, DC"
    assert counts(load(program, GOOD)) == (0, 0, 1, 0)


def test_where_a_company_is_reached_fills_what_is_blank_and_changes_nothing(
    program: Program,
) -> None:
    header = f"{HEADER},Company Address,Company City,Company State,Company ZIP,Company Email"
    row = f"{GOOD},9 Elm Street,Tamarack Flats,WA,99171,desk@stillbrook.example"
    report = load(program, row, header=header)
    assert report.columns["Company Address"] == "firm_address"
    firm = Firm.objects.get()
    assert (firm.address, firm.city, firm.state, firm.zip) == (
        "9 Elm Street", "Tamarack Flats", "WA", "99171",
    )  # fmt: skip
    assert firm.email == "desk@stillbrook.example"
    report = load(program, row.replace("9 Elm", "10 Elm").replace("desk@", "nobody"), header=header)
    firm.refresh_from_db()
    assert (firm.address, firm.email) == ("9 Elm Street", "desk@stillbrook.example")
    told = " ".join(one.message for one in report.warnings)
    assert "has '9 Elm Street' on record, not '10 Elm Street'; nothing was changed" in told
    assert "is no e-mail address" in told
