"""Reports on paper: kept as they came, looked at by content, keyed by one person or by two."""

from __future__ import annotations

import hashlib
import json
import zlib
from datetime import date
from io import BytesIO
from typing import Any

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, ImageDraw
from reportlab.pdfgen.canvas import Canvas

from registry.models import Program, Question
from reports.domain.keyed_twice import differences
from reports.models import FieldEntry, FieldTest, Paper, PaperKeying, PaperSpot
from reports.papers.scans import ScanError, read_scan
from tests.access.cast import Cast
from tests.reports.entering.conftest import GOOD, client_for

WHERE = "/p/flats/field-tests/papers/"
KEYED = {name: value for name, value in GOOD.items() if name not in {"cautions_read", "attested"}}


def picture() -> Image.Image:
    image = Image.new("RGB", (1275, 1650), "white")
    ImageDraw.Draw(image).text((100, 100), "Report of a field test, serial A100", fill="black")
    return image


def scan(kind: str) -> bytes:
    out = BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "Somebody’s scanner"
    options: dict[str, Any] = {"exif": exif} if kind == "JPEG" else {}
    picture().save(out, kind, **options)
    return out.getvalue()


def drawn_pdf() -> bytes:
    out = BytesIO()
    sheet = Canvas(out)
    sheet.drawString(72, 700, "Report of a field test")
    sheet.showPage()
    sheet.save()
    return out.getvalue()


def the_paper() -> Paper:
    """The one that a test took in, besides those of the cast."""
    return Paper.objects.exclude(sha256="d" * 64).get()


def taken_in(client: Client, data: bytes, name: str = "scan.pdf") -> Any:
    return client.post(WHERE, {"file": SimpleUploadedFile(name, data)})


@pytest.fixture
def paper(clerk: Client) -> Paper:
    assert taken_in(clerk, scan("PNG"), "a100.png").status_code == 302
    return the_paper()


def where_to_key(cast: Cast, paper: Paper) -> str:
    return f"{WHERE}{paper.pk}/key/?assembly={cast.home.ids['assembly']}"


@pytest.mark.parametrize(("kind", "told"), [("PDF", "pdf"), ("JPEG", "jpeg"), ("PNG", "png")])
def test_a_scan_is_kept_as_it_came_with_its_hash_and_a_picture(
    clerk: Client, cast: Cast, kind: str, told: str
) -> None:
    data = scan(kind)
    taken_in(clerk, data, "whatever.txt")  # the name says nothing
    kept = the_paper()
    assert (kept.kind, bytes(kept.content)) == (told, data)
    assert kept.sha256 == hashlib.sha256(data).hexdigest()
    page = kept.pages.get()
    shown = Image.open(BytesIO(bytes(page.content)))
    assert shown.size == (page.width, page.height) == (1275, 1650)
    assert not shown.getexif()
    file = clerk.get(f"{WHERE}{kept.pk}/file/")
    assert file.content == data
    assert file["X-Content-Type-Options"] == "nosniff"
    taken_in(clerk, data, "the same again.pdf")
    assert the_paper() == kept


def test_a_page_that_lies_on_its_side_is_shown_upright() -> None:
    with pikepdf.open(BytesIO(scan("PDF"))) as pdf:
        pdf.pages[0].obj.Rotate = 90
        out = BytesIO()
        pdf.save(out)
    (page,) = read_scan(out.getvalue()).pages
    assert (page.width, page.height) == (1650, 1275)


def test_a_pdf_that_is_drawn_is_shown_by_the_browser_itself(clerk: Client, cast: Cast) -> None:
    taken_in(clerk, drawn_pdf())
    kept = the_paper()
    assert (kept.kind, kept.page_count, kept.pages.count()) == ("pdf", 1, 0)
    page = clerk.get(f"{WHERE}{kept.pk}/").content.decode()
    assert f'<iframe class="paper-frame" src="{WHERE}{kept.pk}/file/"' in page


def locked_pdf() -> bytes:
    with pikepdf.open(BytesIO(scan("PDF"))) as pdf:
        out = BytesIO()
        pdf.save(out, encryption=pikepdf.Encryption(user="seven", owner="seven"))
    return out.getvalue()


def long_pdf() -> bytes:
    with pikepdf.open(BytesIO(scan("PDF"))) as pdf:
        for _ in range(10):
            pdf.pages.append(pdf.pages[0])
        out = BytesIO()
        pdf.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (lambda: b"", "The file is empty"),
        (lambda: b"<svg onload='x'/>", "This is no picture"),
        (lambda: b"%PDF-1.7 and nothing more", "The PDF is damaged"),
        (lambda: scan("PNG")[:400], "This is no picture"),
        (locked_pdf, "The PDF has a password"),
        (long_pdf, "It has 11 pages"),
        (lambda: b"\xff\xd8\xff" + b"0" * (15 * 1024 * 1024), "larger than 15 MB"),
    ],
)
def test_what_is_no_scan_is_refused_and_says_what_to_send(data: Any, told: str) -> None:
    with pytest.raises(ScanError, match=told):
        read_scan(data())


def test_a_picture_that_would_unpack_to_far_more_than_a_page_is_left_packed() -> None:
    with pikepdf.open(BytesIO(scan("PDF"))) as pdf:
        (image,) = pdf.pages[0].get_images().values()
        packer = zlib.compressobj(9)
        packed = b"".join(packer.compress(bytes(10**7)) for _ in range(3)) + packer.flush()
        image.write(packed, filter=pikepdf.Name.FlateDecode)
        out = BytesIO()
        pdf.save(out)
    assert len(out.getvalue()) < 1_000_000
    found = read_scan(out.getvalue())
    assert (found.page_count, found.pages) == (1, ())


def test_one_bad_file_keeps_no_good_one_out(clerk: Client, cast: Cast) -> None:
    files = [SimpleUploadedFile("a.png", scan("PNG")), SimpleUploadedFile("b.txt", b"hello")]
    answer = clerk.post(WHERE, {"file": files})
    assert answer.status_code == 422
    assert "b.txt" in answer.content.decode()
    assert the_paper().file_name == "a.png"


def test_a_paper_keyed_becomes_a_report_like_any_other(
    clerk: Client, cast: Cast, paper: Paper
) -> None:
    form = clerk.get(where_to_key(cast, paper)).content.decode()
    assert f"{WHERE}{paper.pk}/pages/1/" in form
    assert "cautions_read" not in form
    assert clerk.get(f"{WHERE}{paper.pk}/pages/1/").status_code == 200
    clerk.post(where_to_key(cast, paper), KEYED)
    entry = FieldEntry.objects.get(channel="paper")
    assert entry.client_id == paper.client_id
    assert entry.attestation.endswith("Signed on the paper by Tove Vell.")
    assert entry.body["paper"]["sha256"] == paper.sha256
    test = entry.field_test
    assert test is not None
    assert (test.outcome, test.counts) == ("pass", True)
    assert not any("does not say" in str(one) for one in test.warnings)
    paper.refresh_from_db()
    assert paper.entry == entry
    # Sent twice it is one report.
    clerk.post(where_to_key(cast, paper), KEYED)
    assert FieldEntry.objects.filter(channel="paper").count() == 1


def test_what_the_paper_does_not_say_stays_blank_and_is_told(
    clerk: Client, cast: Cast, paper: Paper
) -> None:
    told = {**KEYED, "tested_at": "", "shutoff1_tight": "", "signed_name": "", "supply_on": ""}
    clerk.post(where_to_key(cast, paper), told)
    entry = FieldEntry.objects.get(channel="paper")
    assert entry.attestation.endswith("The paper bears no signature.")
    assert entry.field_test is not None
    (missing,) = [one for one in entry.field_test.warnings if "does not say" in one]
    for words in ("Time", "Does shutoff valve 1 hold?", "Is the water back on?", "Signature"):
        assert words in missing


def test_without_serial_or_day_a_paper_is_not_brought_in(
    clerk: Client, cast: Cast, paper: Paper
) -> None:
    answer = clerk.post(
        where_to_key(cast, paper), {**KEYED, "serial": "", "initial_relief": "2,1o"}
    )
    assert answer.status_code == 422
    faults = {one.field for one in answer.context["form"].faults}
    assert faults == {"serial", "initial_relief"}
    assert not FieldEntry.objects.filter(channel="paper").exists()


def keyed_by_two() -> None:
    program = Program.objects.get(code="flats")
    program.letterhead = {**program.letterhead, "papers_by_two": True}
    program.save()


def test_two_people_who_read_the_same_bring_it_in(clerk: Client, cast: Cast, paper: Paper) -> None:
    keyed_by_two()
    clerk.post(where_to_key(cast, paper), KEYED)
    assert not FieldEntry.objects.filter(channel="paper").exists()
    again = clerk.post(where_to_key(cast, paper), KEYED)
    assert again["Location"] == f"{WHERE}{paper.pk}/"
    assert PaperKeying.objects.count() == 1
    second = client_for(cast, "administrator")
    page = second.get(where_to_key(cast, paper)).content.decode()
    assert 'value="2.4"' not in page  # blind: what the first read is not shown
    second.post(where_to_key(cast, paper), {**KEYED, "initial_relief": "2.40"})
    assert FieldTest.objects.get(entries__channel="paper").counts


def test_what_two_people_read_otherwise_is_shown_and_settled(
    clerk: Client, cast: Cast, paper: Paper
) -> None:
    keyed_by_two()
    clerk.post(where_to_key(cast, paper), KEYED)
    second = client_for(cast, "administrator")
    answer = second.post(where_to_key(cast, paper), {**KEYED, "initial_relief": "1.4"})
    assert answer["Location"] == f"{WHERE}{paper.pk}/settle/"
    page = second.get(answer["Location"])
    assert [(one.field, one.first, one.second) for one, _ in page.context["rows"]] == [
        ("initial_relief", "2.4", "1.4")
    ]
    assert second.post(answer["Location"], {}).status_code == 422
    assert not FieldEntry.objects.filter(channel="paper").exists()
    second.post(answer["Location"], {"take_initial_relief": "second"})
    test = FieldTest.objects.get(entries__channel="paper")
    assert (test.outcome, test.initial["relief"]) == ("fail", "1.4")


def test_a_paper_put_aside_is_kept_and_can_be_taken_up(clerk: Client, paper: Paper) -> None:
    aside = f"{WHERE}{paper.pk}/aside/"
    clerk.post(aside, {"reason": ""})
    assert the_paper().put_aside == ""
    clerk.post(aside, {"reason": "Illegible"})
    assert "Illegible" in clerk.get(WHERE).content.decode()
    assert clerk.get(f"{WHERE}{paper.pk}/key/?type=RP").status_code == 302
    clerk.post(aside, {"act": "take up"})
    assert the_paper().put_aside == ""


def test_where_a_field_stands_is_remembered_for_the_printed_form(
    clerk: Client, cast: Cast, paper: Paper
) -> None:
    where = f"{WHERE}{paper.pk}/spot/"
    told = {"field": "initial_relief", "page": 1, "across": 0.25, "down": 0.6}
    for one in (told, {**told, "down": 0.7}):
        assert (
            clerk.post(where, json.dumps(one), content_type="application/json").status_code == 200
        )
    assert PaperSpot.objects.get().down == 0.7
    page = clerk.get(where_to_key(cast, paper))
    assert page.context["spots"] == {"initial_relief": [1, 0.25, 0.7]}
    bad: Any
    for bad in ({**told, "across": 7}, {**told, "page": 9}, {"field": "x"}, [], "x"):
        answer = clerk.post(where, json.dumps(bad), content_type="application/json")
        assert answer.status_code == 422


def test_blanks_case_and_the_way_a_figure_is_written_make_no_difference() -> None:
    first = {"initial_relief": "2.40", "certificate": "t-1006", "remarks": "", "serial": "0120"}
    second = {"initial_relief": "2.4", "certificate": "T-1006 ", "serial": "120", "x": ""}
    assert [one.field for one in differences(first, second)] == ["serial"]
    assert differences({"serial": "12E4"}, {"serial": "120000"})


def test_a_danger_on_paper_is_asked_about_too(clerk: Client, cast: Cast, paper: Paper) -> None:
    clerk.post(where_to_key(cast, paper), {**KEYED, "relief_running": "yes"})
    assert Question.objects.filter(kind__contains="relief", settled_at=None).exists()
    assert FieldTest.objects.filter(tested_on=date(2026, 11, 25)).exists()
