"""Files of reports: tried first, mended by the sheet they give back, and taken back as a whole."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client

from registry.domain.kinds import UNTESTED_TYPES, AssemblyType
from registry.models import Assembly, LoadBatch, Question
from registry.sheets import parse_sheet
from reports.domain.report_columns import recognise
from reports.models import FieldTest, FoundAssembly, TakenBackBatch, TakenBackReport
from scheduling.models import AssemblyState, Fact, Obligation
from tests.access.cast import Cast
from tests.reports.entering.conftest import client_for

HEADERS = (
    "Serial,Make,Test Date,Tester Cert,Gauge Serial,Initial RV,Initial CK1,CK2 Tight,SOV2 Tight,"
    "Remarks"
)
GOOD = "A100,Northfork,2026-11-20,T-1,G-118,2.4,7.4,Y,Y,"
SEVEN_KINDS = [
    GOOD,
    ",Northfork,2026-11-20,T-1,G-118,2.4,7.4,Y,Y,",  # no serial
    "A100,Northfork,2027-01-05,T-1,G-118,2.4,7.4,Y,Y,",  # a day that has not come
    "A100,Northfork,11/31/26,T-1,G-118,2.4,7.4,Y,Y,",  # a day that is none
    'A100,Northfork,2026-11-19,T-1,G-118,"2,1o",7.4,Y,Y,',  # a letter for a figure
    "A100,Northfork,2026-11-18,T-1,G-118,2.4,-3,Y,Y,",  # below nothing
    "A100,Northfork,2026-11-17,T-1,G-118,2.4,7.4,maybe,Y,",  # neither yes nor no
    "A100,Northfork,2026-11-16,T-1,G-118,2.4,999,Y,Y,",  # more than a gauge shows
    "A100,Northfork,2026-11-15,T-1,G-118,2.4,998,Y,Y,=1+1",  # the same kind again
]


def sheet_of(*rows: str) -> bytes:
    return "\n".join([HEADERS, *rows, ""]).encode()


def tried(client: Client, cast: Cast, data: bytes) -> Any:
    where = f"/p/{cast.home.program.code}/field-tests/load/"
    answer = client.post(where, {"file": SimpleUploadedFile("nov.csv", data)})
    assert answer.status_code == 302, answer.content.decode()[:300]
    return client.get(answer["Location"]), answer["Location"]


def brought_in(client: Client, cast: Cast, data: bytes) -> LoadBatch:
    page, where = tried(client, cast, data)
    revision = page.context["upload"].revision
    answer = client.post(f"{where}bring-in/", {"revision": revision})
    assert "/files/" in answer["Location"], answer["Location"]
    return LoadBatch.objects.get(pk=int(answer["Location"].rstrip("/").rsplit("/", 1)[1]))


def state_of(serial: str) -> dict[str, Any]:
    found = AssemblyState.objects.filter(assembly__serial=serial)
    return {
        name: value
        for name, value in found.values()[0].items()
        if name not in {"id", "replayed_at"}
    }


def test_seven_kinds_of_faults_are_seven_groups_in_one_pass(clerk: Client, cast: Cast) -> None:
    page, _ = tried(clerk, cast, sheet_of(*SEVEN_KINDS))
    told = page.context["told"]
    assert [(one.column, one.rows) for one in told.faults] == [
        ("Initial CK1", (9, 10)),
        ("Serial", (3,)),
        ("Test Date", (4,)),
        ("Test Date", (5,)),
        ("Initial RV", (6,)),
        ("Initial CK1", (7,)),
        ("CK2 Tight", (8,)),
    ]
    assert (told.rows, told.stored, told.set_aside) == (9, 1, 8)
    text = page.content.decode()
    for words in ("2,1o", "maybe", "9, 10"):
        assert words in text
    assert not FieldTest.objects.filter(batch__file_name="nov.csv").exists()
    assert not LoadBatch.objects.filter(file_name="nov.csv").exists()


def test_the_page_and_the_command_come_to_the_same(
    clerk: Client, cast: Cast, tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    data = sheet_of(*SEVEN_KINDS)
    path = tmp_path / "nov.csv"
    path.write_bytes(data)
    with pytest.raises(SystemExit):
        call_command("load_tests", str(path), program="hills", as_of=date(2026, 11, 25), json=True)
    command = json.loads(capsys.readouterr().out)
    batch = brought_in(clerk, cast, data)
    assert batch.tally == {"rows": 9, "stored": command["stored"], "rejected": 8}
    aside = [fault for row in batch.set_aside.all() for fault in row.faults]
    assert aside == command["rejected"]
    (kept,) = FieldTest.objects.filter(batch=batch)
    (result,) = command["results"]
    assert (kept.outcome, kept.counts, kept.reasons) == (
        result["outcome"],
        result["counts"],
        result["reasons"],
    )


@pytest.mark.parametrize("extension", ["csv", "xlsx"])
def test_what_is_to_mend_comes_back_as_the_same_sheet_and_lands_once_mended(
    clerk: Client, cast: Cast, extension: str
) -> None:
    batch = brought_in(clerk, cast, sheet_of(*SEVEN_KINDS))
    answer = clerk.get(f"/p/flats/field-tests/files/{batch.pk}/to-mend.{extension}")
    sheet = parse_sheet(data=answer.content, name="to-mend")
    assert sheet.headers == (*HEADERS.split(","), "why")
    assert len(sheet.records) == 8
    rows = [list(record.cells) for record in sheet.records]
    assert rows[-1][-2] == "'=1+1"  # no spreadsheet runs it
    assert all(row[-1] for row in rows)
    rows[-1][6] = "7.9"  # mended
    out = io.StringIO()
    csv.writer(out).writerows([sheet.headers, rows[-1]])
    mended = brought_in(clerk, cast, out.getvalue().encode())
    (kept,) = FieldTest.objects.filter(batch=mended)
    assert kept.remarks == "=1+1"  # and it reads back to what it was
    assert kept.counts
    again = clerk.get(f"/p/flats/field-tests/files/{mended.pk}/to-mend.{extension}")
    assert parse_sheet(data=again.content, name="again").headers.count("why") == 1


def test_a_report_that_does_not_count_is_among_what_is_to_mend(clerk: Client, cast: Cast) -> None:
    batch = brought_in(clerk, cast, sheet_of(GOOD.replace("G-118", "G-999")))
    page = clerk.get(f"/p/flats/field-tests/files/{batch.pk}/")
    assert page.context["not_counting"][0].value == "A100"
    text = clerk.get(f"/p/flats/field-tests/files/{batch.pk}/to-mend.csv").content.decode()
    assert "G-999" in text.split("\n")[1]


def test_a_file_taken_back_leaves_everything_as_it_was(clerk: Client, cast: Cast) -> None:
    before = state_of("A100")
    owed = list(Obligation.objects.order_by("pk").values("pk", "due_on", "closed_on"))
    batch = brought_in(clerk, cast, sheet_of(GOOD))
    assert state_of("A100") != before
    where = f"/p/flats/field-tests/files/{batch.pk}/"
    answer = clerk.post(f"{where}take-back/", {"reason": "Another program’s file"})
    assert answer.status_code == 302
    assert state_of("A100") == before
    assert list(Obligation.objects.order_by("pk").values("pk", "due_on", "closed_on")) == owed
    assert not FieldTest.objects.filter(batch=batch).exists()
    fact = Fact.objects.get(batch=batch)
    assert (fact.withdrawn_reason, fact.withdrawn_by) == ("Another program’s file", "clerk")
    kept = TakenBackReport.objects.get(taken_back__batch=batch)
    assert (kept.serial, kept.row["initial"]["relief"]) == ("A100", "2.4")
    assert "Taken back" in clerk.get(where).content.decode()
    # The same file again lands anew; a second taking back is refused.
    assert FieldTest.objects.filter(batch=brought_in(clerk, cast, sheet_of(GOOD))).count() == 1
    clerk.post(f"{where}take-back/", {"reason": "again"})
    assert TakenBackBatch.objects.get(batch=batch).reason == "Another program’s file"


def test_a_file_something_depends_on_is_not_taken_back(clerk: Client, cast: Cast) -> None:
    from notices.models import Notice

    batch = brought_in(clerk, cast, sheet_of(GOOD.replace("2.4", "1.2")))
    site = Assembly.objects.get(program=cast.home.program, serial="A100")
    Notice.objects.filter(assembly=site).update(left_on=date(2026, 11, 25))
    where = f"/p/flats/field-tests/files/{batch.pk}/"
    assert "Letters about its assemblies left since" in clerk.get(where).content.decode()
    clerk.post(f"{where}take-back/", {"reason": "wrong"})
    assert FieldTest.objects.filter(batch=batch).exists()
    assert not Fact.objects.filter(batch=batch, withdrawn_at__isnull=False).exists()


def test_a_decided_report_keeps_its_file(clerk: Client, cast: Cast) -> None:
    batch = brought_in(clerk, cast, sheet_of(GOOD.replace("G-118", "G-999")))
    FieldTest.objects.filter(batch=batch).update(
        decided_at=batch.at, decided_by="R. Moss", decision="Kept"
    )
    page = clerk.get(f"/p/flats/field-tests/files/{batch.pk}/").content.decode()
    assert "R. Moss" in page


def test_what_only_the_file_asked_is_asked_no_more_and_anew_if_it_comes_again(
    clerk: Client, cast: Cast
) -> None:
    rows = sheet_of("Z900,Northfork,2026-11-20,T-1,G-118,2.4,7.4,Y,Y,", GOOD)
    batch = brought_in(clerk, cast, rows)
    assert FoundAssembly.objects.filter(field_test__batch=batch).exists()
    Question.objects.create(
        program=batch.program,
        key="visit:x",
        kind="danger: bypassed",
        text="Look",
        raised_on=batch.as_of,
        detail={"field_test": FieldTest.objects.get(batch=batch, serial="Z900").pk},
    )
    clerk.post(f"/p/flats/field-tests/files/{batch.pk}/take-back/", {"reason": "not ours"})
    assert TakenBackBatch.objects.filter(batch=batch).exists()
    assert not Question.objects.filter(key="visit:x").exists()
    assert not FoundAssembly.objects.filter(field_test__serial="Z900").exists()
    again = brought_in(clerk, cast, rows)
    FoundAssembly.objects.filter(field_test__batch=again).update(
        settled_at=batch.at, settled_how="new"
    )
    clerk.post(f"/p/flats/field-tests/files/{again.pk}/take-back/", {"reason": "not ours"})
    assert not TakenBackBatch.objects.filter(batch=again).exists()


def test_the_command_takes_a_file_back_and_refuses_what_is_none(
    clerk: Client, cast: Cast, capsys: pytest.CaptureFixture[str]
) -> None:
    batch = brought_in(clerk, cast, sheet_of(GOOD))
    told = {"program": "flats", "as_of": date(2026, 11, 25), "json": True}
    call_command("take_back_tests", batch.pk, **told, dry_run=True)
    dry = json.loads(capsys.readouterr().out)
    assert dry == {"batch": batch.pk, "reports": 1, "facts": 1, "assemblies": 1}
    assert FieldTest.objects.filter(batch=batch).exists()
    for number, reason in ((batch.pk, ""), (987654, "wrong"), (batch.pk, "wrong"), (batch.pk, "x")):
        code = 0
        try:
            call_command("take_back_tests", number, **told, reason=reason)
        except SystemExit as end:
            code = int(end.code or 0)
        said = json.loads(capsys.readouterr().out)
        assert (code == 0) == (said == dry), said
        assert (code == 2) == ("error" in said), said
    assert TakenBackBatch.objects.get(batch=batch).reason == "wrong"


@pytest.mark.parametrize("kind", [one.value for one in AssemblyType if one not in UNTESTED_TYPES])
def test_each_template_has_a_column_for_every_reading_of_its_type(
    clerk: Client, cast: Cast, kind: str
) -> None:
    heads = {}
    for extension in ("csv", "xlsx"):
        answer = clerk.get(f"/p/flats/field-tests/template/{kind}.{extension}")
        assert answer.status_code == 200
        heads[extension] = parse_sheet(data=answer.content, name="t").headers
    assert heads["csv"] == heads["xlsx"]
    columns = recognise(heads["csv"], saved={})
    form = clerk.get(f"/p/flats/enter/type/{kind}/").context["form"].asked
    asked = {one.name for one in form.readings}
    assert asked <= set(columns.initial)
    assert asked <= set(columns.final)
    assert {"serial", "tested_on", "certificate", "gauge_serial"} <= set(columns.fields)


def test_a_misspelled_header_is_offered_and_what_is_said_of_it_is_remembered(
    clerk: Client, cast: Cast
) -> None:
    data = sheet_of(GOOD).replace(b"Gauge Serial", b"Guage Serail").replace(b"Remarks", b"Route")
    page, where = tried(clerk, cast, data)
    unused = {one.header: one.meant for one in page.context["unused"]}
    assert unused == {"Guage Serail": "Gauge serial", "Route": ""}
    said = {"header": ["Guage Serail", "Route"], "meaning": ["gauge_serial", "leave out"]}
    assert clerk.post(f"{where}columns/", said)["Location"] == where
    assert clerk.get(where).context["unused"] == []
    page, _ = tried(clerk, cast, data)  # the next file needs no telling
    assert page.context["unused"] == []
    assert page.context["told"].counting == 1


def test_a_sheet_without_a_serial_names_the_header_that_may_be_it(
    clerk: Client, cast: Cast
) -> None:
    data = sheet_of(GOOD).replace(b"Serial,Make", b"Serail,Make", 1)
    page, _ = tried(clerk, cast, data)
    assert page.status_code == 422
    assert "“Serail” may be “Serial”" in page.content.decode()


def test_a_tester_brings_in_no_file(cast: Cast) -> None:
    answer = client_for(cast, "tester").get("/p/flats/field-tests/load/")
    assert answer.status_code == 403
