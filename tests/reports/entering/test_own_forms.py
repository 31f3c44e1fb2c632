"""A purveyor's own form: mapped once, filled so that every reader of PDFs shows and prints it."""

from __future__ import annotations

import csv
import io
import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from pypdf import PdfReader
from reportlab.lib.colors import black, white
from reportlab.pdfgen.canvas import Canvas

from registry.models import Assignment, Change
from reports.domain.own_form_fields import OUR_FIELDS, in_words
from reports.domain.own_forms import BlankKind, FormBlank, Mapped, answer_for, guessed
from reports.models import FieldTest, OwnForm
from reports.own_forms.pdf_forms import OwnFormError, fill_pdf, read_pdf_form
from tests.access.cast import Cast
from tests.reports.entering.conftest import client_for

WHERE = "/p/flats/field-tests/forms/"


def made_form() -> bytes:
    """A form as an office draws it: lines, a box of several lines, a tick, buttons, a list."""
    out = BytesIO()
    sheet = Canvas(out)
    form = sheet.acroForm
    look = {"borderColor": black, "fillColor": white, "textColor": black}
    for place, name in enumerate(("Serial", "Test Date", "Initial RV", "Owner")):
        sheet.drawString(40, 760 - 40 * place, name)
        form.textfield(name=name, x=160, y=750 - 40 * place, width=200, height=20, **look)
    form.textfield(
        name="Remarks", x=160, y=560, width=300, height=50, fieldFlags="multiline", **look
    )
    form.textfield(name="ZIP", x=160, y=530, width=60, height=18, maxlen=5, **look)
    form.checkbox(name="Supply back on", x=160, y=500, buttonStyle="check", **look)
    for place, value in enumerate(("Pass", "Fail")):
        form.radio(name="Result", value=value, x=160 + 40 * place, y=460, selected=False, **look)
    form.choice(
        name="Type", x=160, y=420, width=90, height=20, options=["DC", "RP", "PVB"], value="DC",
        **look,
    )  # fmt: skip
    sheet.save()
    return out.getvalue()


def taken_in(client: Client, data: bytes, *, name: str = "Flats form") -> OwnForm:
    answer = client.post(WHERE, {"name": name, "file": SimpleUploadedFile("form.pdf", data)})
    assert answer.status_code == 302, answer.content.decode()[:400]
    return OwnForm.objects.latest("pk")


@pytest.fixture
def test(cast: Cast) -> FieldTest:
    """A counted test with something in every part."""
    found = FieldTest.objects.get(pk=cast.home.ids["test"])
    FieldTest.objects.filter(pk=found.pk).update(
        counts=True,
        outcome="pass",
        initial={"relief": "2.4", "check1": "7.4", "check2_tight": "yes"},
        cells={"Supply back on": "yes"},
        remarks="Debris on the seat of check 1; flushed, and the strainer cleaned besides.",
        tested_on="2026-11-05",
    )
    found.refresh_from_db()
    return found


def words_of(pdf: bytes) -> dict[str, Any]:
    fields = PdfReader(BytesIO(pdf)).get_fields() or {}
    return {name: field.get("/V") for name, field in fields.items()}


def picture_of(pdf: bytes, folder: Path) -> Image.Image:
    """The page as poppler draws it, which uses each field's own picture."""
    (folder / "filled.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", "72", "-png", "-singlefile", str(folder / "filled.pdf"),
         str(folder / "filled")],
        check=True,
    )  # fmt: skip
    return Image.open(folder / "filled.png").convert("L")


def dark_in(image: Image.Image, box: tuple[int, int, int, int]) -> int:
    """How many dark points stand in a box given from the lower left, as a PDF counts."""
    left, low, right, high = box
    part = image.crop((left, image.height - high, right, image.height - low))
    return sum(count for value, count in enumerate(part.histogram()) if value < 128)


def test_a_form_is_taken_in_with_its_fields_and_a_first_mapping(clerk: Client, cast: Cast) -> None:
    form = taken_in(clerk, made_form())
    kinds = {one["name"]: one["kind"] for one in form.blanks}
    assert kinds == {
        "Serial": "text", "Test Date": "text", "Initial RV": "text", "Owner": "text",
        "Remarks": "text", "ZIP": "text", "Supply back on": "tick", "Result": "buttons",
        "Type": "list",
    }  # fmt: skip
    ours = {name: one["ours"] for name, one in form.mapping.items()}
    assert ours == {
        "Serial": "serial", "Test Date": "tested_on", "Initial RV": "initial_relief",
        "Owner": "owner", "Remarks": "remarks", "ZIP": "zip", "Result": "outcome", "Type": "type",
        "Supply back on": "supply_on",
    }  # fmt: skip
    assert form.mapping["Result"]["when"] == {"Pass": "pass", "Fail": "fail"}


def mapped(client: Client, form: OwnForm) -> None:
    """Keep the mapping as a person does, with the tick set where the water is back on."""
    told: dict[str, Any] = {"date_style": "month/day/year"}
    for number, blank in enumerate(form.blanks):
        one = form.mapping.get(blank["name"], {})
        told[f"ours_{number}"] = one.get("ours", "")
        told[f"state_{number}"] = blank["states"]
        told[f"value_{number}"] = [one.get("when", {}).get(s, "") for s in blank["states"]]
        if blank["name"] == "Supply back on":
            told[f"ours_{number}"], told[f"value_{number}"] = "supply_on", ["yes"]
    assert client.post(f"{WHERE}{form.pk}/", told).status_code == 302


def test_a_counted_test_fills_every_kind_of_field_and_it_prints(
    clerk: Client, cast: Cast, test: FieldTest, tmp_path: Path
) -> None:
    form = taken_in(clerk, made_form())
    mapped(clerk, form)
    answer = clerk.get(f"{WHERE}{form.pk}/filled/{test.pk}/")
    assert answer["Content-Type"] == "application/pdf"
    told = words_of(answer.content)
    assert told["Serial"] == "A100"
    assert told["Test Date"] == "11/05/2026"
    assert told["Initial RV"] == "2.4"
    assert told["Owner"] == "Larch Court"
    assert told["Result"] == "/Pass"
    assert told["Type"] == "RP"
    assert told["Supply back on"] not in {None, "/Off"}
    # What prints is what poppler draws from each field's own picture.
    filled, empty = (picture_of(one, tmp_path) for one in (answer.content, bytes(form.content)))
    boxes = {
        "Serial": (160, 750, 360, 770), "Test Date": (160, 710, 360, 730),
        "Initial RV": (160, 670, 360, 690), "Remarks": (160, 560, 460, 610),
        "ZIP": (160, 530, 220, 548), "tick": (160, 500, 180, 520), "Pass": (160, 460, 180, 480),
    }  # fmt: skip
    for name, box in boxes.items():
        assert dark_in(filled, box) > dark_in(empty, box) + 3, name
    fail = (200, 460, 220, 480)
    assert dark_in(filled, fail) == dark_in(empty, fail)


def test_letters_a_form_lacks_and_what_is_too_long_are_told() -> None:
    content, _ = read_pdf_form(made_form())
    filled = fill_pdf(content, answers={"ZIP": "99171-1234", "Owner": "Łucja & Søn"})
    assert words_of(filled.content)["ZIP"] == "99171"
    assert words_of(filled.content)["Owner"] == "Łucja & Søn"
    assert len(filled.notes) == 2
    assert any("cut to the 5 signs" in note for note in filled.notes)
    assert any("lack Ł" in note for note in filled.notes)


def test_scripts_of_a_form_are_taken_out() -> None:
    with pikepdf.open(BytesIO(made_form())) as pdf:
        script = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert(1)")
        pdf.Root.OpenAction = script
        pdf.Root.Names = pikepdf.Dictionary(JavaScript=pikepdf.Dictionary(Names=[]))
        pdf.Root.AcroForm.Fields[0].AA = pikepdf.Dictionary(K=script)
        out = BytesIO()
        pdf.save(out)
    content, _ = read_pdf_form(out.getvalue())
    with pikepdf.open(BytesIO(content)) as pdf:
        plain = BytesIO()
        pdf.save(plain, qdf=True)
    assert b"app.alert" not in plain.getvalue()


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"%PDF-1.7 broken", "damaged"),
        (b"", "empty"),
        (b"\x89PNG", "binary|neither|UTF-16|CSV"),
    ],
)
def test_what_is_no_form_is_refused(clerk: Client, cast: Cast, data: bytes, told: str) -> None:
    import re

    answer = clerk.post(WHERE, {"name": "x", "file": SimpleUploadedFile("f", data or b" ")})
    if answer.status_code != 302:
        assert answer.status_code == 422
        assert re.search(told, answer.content.decode())


def test_a_scan_is_no_form(cast: Cast) -> None:
    out = BytesIO()
    Image.new("RGB", (600, 800), "white").save(out, "PDF")
    with pytest.raises(OwnFormError, match="no fields to fill"):
        read_pdf_form(out.getvalue())


def test_a_period_comes_as_one_bundle_the_same_each_time(
    clerk: Client, cast: Cast, test: FieldTest
) -> None:
    form = taken_in(clerk, made_form())
    mapped(clerk, form)
    where = f"{WHERE}{form.pk}/period/?from=2026-11-01&to=2026-11-30"
    first, again = clerk.get(where).content, clerk.get(where).content
    assert first == again
    with ZipFile(BytesIO(first)) as folder:
        assert folder.namelist() == [f"2026-11-05-A100-{test.pk}.pdf"]
        assert words_of(folder.read(folder.namelist()[0]))["Serial"] == "A100"
    none = clerk.get(f"{WHERE}{form.pk}/period/?from=2020-11-01&to=2020-11-30", follow=True)
    assert "No counted test lies in these days" in none.content.decode()


def test_a_csv_gets_the_columns_the_purveyor_wants(
    clerk: Client, cast: Cast, test: FieldTest
) -> None:
    FieldTest.objects.filter(pk=test.pk).update(remarks="=HYPERLINK(1)")
    form = taken_in(clerk, b"Serial,Date of test,Initial CK1,Remarks,Our number\r\n")
    assert form.kind == "csv"
    answer = clerk.get(f"{WHERE}{form.pk}/period/?from=2026-11-01&to=2026-11-30")
    rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert rows == [
        ["Serial", "Date of test", "Initial CK1", "Remarks", "Our number"],
        ["A100", "11/05/2026", "7.4", "'=HYPERLINK(1)", ""],
    ]


def test_a_test_that_does_not_count_fills_nothing(
    clerk: Client, cast: Cast, test: FieldTest
) -> None:
    form = taken_in(clerk, made_form())
    FieldTest.objects.update(counts=False)
    assert clerk.get(f"{WHERE}{form.pk}/filled/{test.pk}/").status_code == 404
    assert "nothing to fill it with" in clerk.get(f"{WHERE}{form.pk}/").content.decode()


def test_a_company_has_its_own_forms_and_sees_no_other(clerk: Client, cast: Cast) -> None:
    office = taken_in(clerk, made_form())
    company = client_for(cast, "dispatcher")
    assert company.get(f"{WHERE}{office.pk}/").status_code == 404
    mine = taken_in(company, made_form(), name="The city’s")
    assert mine.firm == cast.home.firm
    assert company.get(f"{WHERE}{mine.pk}/").status_code == 200
    assert clerk.get(f"{WHERE}{mine.pk}/").status_code == 404
    company.post(f"{WHERE}{mine.pk}/drop/")
    assert not OwnForm.objects.filter(pk=mine.pk).exists()
    assert Change.objects.filter(what="own form", label="The city’s").count() == 2


def test_a_company_nobody_assigned_is_told_its_own_report_and_nothing_of_the_registry(
    cast: Cast, test: FieldTest
) -> None:
    Assignment.objects.all().delete()
    company = client_for(cast, "dispatcher")
    form = taken_in(company, b"Serial,Owner,Premises,Account,Remarks")
    answer = company.get(f"{WHERE}{form.pk}/filled/{test.pk}/").content.decode("utf-8-sig")
    serial, *rest, remarks = next(csv.reader([answer.splitlines()[1]]))
    assert (serial, rest) == ("A100", ["", "", ""])
    assert remarks.startswith("Debris")


def test_two_forms_of_one_name_are_refused(clerk: Client, cast: Cast) -> None:
    taken_in(clerk, made_form())
    told = {"name": "Flats form", "file": SimpleUploadedFile("f.pdf", made_form())}
    answer = clerk.post(WHERE, told)
    assert answer.status_code == 422
    assert "Name it otherwise" in answer.content.decode()


@pytest.mark.parametrize(
    ("style", "told"),
    [
        ("month/day/year", "02/29/2028"),
        ("day/month/year", "29/02/2028"),
        ("year-month-day", "2028-02-29"),
        ("in words", "Feb 29, 2028"),
    ],
)
def test_a_day_is_written_as_the_form_wants_it(style: str, told: str) -> None:
    assert in_words("tested_on", "2028-02-29", date_style=style) == told


def test_every_reading_has_a_field_and_a_list_takes_what_reads_alike() -> None:
    assert {"initial_relief", "final_bypass_check2_tight", "outcome", "serial"} <= set(OUR_FIELDS)
    blank = FormBlank(name="x", kind=BlankKind.LIST, states=("Holds", "Leaks"))
    mapping = Mapped(ours="shutoff1_tight", when={})
    values = {"shutoff1_tight": "yes"}
    assert answer_for(blank, mapping, values, date_style="in words") == "Holds"
    tick = FormBlank(name="Check 2 tight", kind=BlankKind.TICK, states=("Yes",))
    (one,) = guessed([tick]).values()
    assert (one.ours, one.when) == ("initial_check2_tight", {"Yes": "yes"})
