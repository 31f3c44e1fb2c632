"""Certificates, day sheets and service sheets for a screen reader: read back by pikepdf.

Machine-checked in part, as letters are; nothing claims that these papers conform to PDF/UA.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO

import pytest
from pikepdf import Name, Pdf, parse_content_stream

from registry.domain.kinds import AssemblyType
from reports.domain.certificate_lines import CertificatePart, Line
from reports.domain.certificates import CertificateContent
from reports.domain.day_sheets import DaySheet, SheetStop
from reports.domain.service_sheets import DEFERS, ReadingLine, ServiceSheet, Visit
from reports.drawing.ground import Ground
from reports.rendering.certificates import render_certificate
from reports.rendering.day_sheets import render_day_sheet
from reports.rendering.service_sheets import render_service_sheets
from reports.rendering.sheets import RenderedSheet, SheetHead
from tests.notices.test_tagging import Read, squeezed

HEAD = SheetHead(
    name="Tamarack Flats Water District",
    line="Cross-connection control",
    contact=("(555) 010-0142",),
    title="Certificate of field test",
    foot="Certificate F-1",
    language="es",
)
LINK = "https://wc.example/c/4f2a"


def certificate() -> RenderedSheet:
    line = Line(name="check valve 1", reading="5.4", limit="1.0", margin="4.4", verdict="met")
    content = CertificateContent(
        language="es", title="Certificado", number="F-1", headline="Pasó su prueba",
        under="El programa la tiene registrada.", pairs=(("Serie", "S1"), ("En", "9 Larch Court")),
        heads=("Lectura", "Registrada", "Límite", "Margen", "Veredicto"),
        parts=(CertificatePart(title="Prueba inicial", lines=(line,)),),
        repairs=("Reparaciones", "ninguna"), qr_words="¿Es auténtico?",
        cautions_heading="Tenga en cuenta", cautions=("Dice cómo estaba ese día.",),
        foot="Certificado F-1", page_words="Página %(page)s de %(pages)s",
    )  # fmt: skip
    return render_certificate(content, head=HEAD, link=LINK, shown_link="wc.example/c/4f2a")


def day_sheet(stops: int = 30) -> RenderedSheet:
    made = tuple(
        SheetStop(
            number=n, times="8:00 to 8:20", is_fixed=n == 2, place=(f"{n} Larch Court",),
            people=("Ask for Rowan Brandt",), work=(f"S{n}, DC, 0.75 in",), cautions=(),
            lat=46.8 + n / 1000, lon=-118.2,
        )
        for n in range(1, stops + 1)
    )  # fmt: skip
    sheet = DaySheet(
        firm="Larch Testing", phone="(555) 010-0177", program="Tamarack Flats", tester="Iva Brandt",
        day="November 30, 2026", under="8:00 am to 4:30 pm.", depot=(46.8, -118.25), stops=made,
        cautions=("Ask the owner before water is shut.",), bring=("the gauge", "fittings"),
        travel="by straight lines", entry_link=LINK,
    )  # fmt: skip
    return render_day_sheet(sheet, ground=Ground())


def service() -> RenderedSheet:
    visit = Visit(
        type=AssemblyType.DC, size_in=Decimal("0.75"), maker="", model="", serial="S1",
        location="meter room", premises="Larch Court", address="9 Larch Court", phone="",
        access_notes="", notice_days=0, is_on_fire_line=False, has_tenants=False,
        has_medical_supply=False, due_on=date(2026, 12, 1), failed_on=None, before={},
        cautions=("Ask the owner before water is shut.",), causes=(), symptoms=(), bring=(),
    )  # fmt: skip
    sheet = ServiceSheet(
        visit=visit, tell=("When the water is shut.",), cautions=visit.cautions, method="A method",
        readings=(ReadingLine(name="check valve 1", limit="1.0", before=()),),
        practice=("Test as found first.", "Flush the line."), defers=DEFERS,
    )  # fmt: skip
    return render_service_sheets([sheet], head=replace(HEAD, language="en"), causes_caution="")


SHEETS = {"certificate": certificate, "day sheet": day_sheet, "service sheet": service}


@pytest.mark.parametrize("name", SHEETS)
def test_everything_drawn_is_part_of_the_text_or_an_artifact(name: str) -> None:
    # ISO 14289-1, 7.1: content is marked as part of the structure, or as an artifact.
    with Pdf.open(BytesIO(SHEETS[name]().pdf)) as pdf:
        for page in pdf.pages:
            depth = 0
            for one in parse_content_stream(page):
                told = str(one.operator)
                if told in ("BDC", "BMC"):
                    assert depth == 0, "marks do not lie within each other"
                    depth += 1
                elif told == "EMC":
                    depth -= 1
                elif told in ("Tj", "TJ", "S", "s", "f", "F", "B", "b", "Do", "INLINE IMAGE"):
                    assert depth == 1, (name, told)
            assert depth == 0


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_says_its_language_and_title_and_has_one_first_heading(name: str) -> None:
    read = Read(SHEETS[name]())
    assert str(read.root.Lang) == ("es" if name == "certificate" else "en")
    assert bool(read.root.MarkInfo.Marked)
    assert str(read.pdf.docinfo["/Title"])
    assert len(read.of("H1")) == 1
    assert len(read.of("H2")) >= 2


def test_a_certificate_names_its_readings_and_its_code() -> None:
    read = Read(certificate())
    heads = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Column"]
    assert heads == ["Lectura", "Registrada", "Límite", "Margen", "Veredicto"]
    names = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Row"]
    assert names == ["Serie", "En", "check valve 1"]
    cells = [squeezed(read.text(one)) for one in read.of("TD")]
    assert cells == ["S1", "9 Larch Court", "5.4", "1.0", "4.4", "met"]
    (code,) = read.of("Figure")
    assert str(code.Alt) == "QR: wc.example/c/4f2a"
    assert len(code.A.BBox) == 4


def test_a_day_sheet_says_its_stops_once_and_gives_its_map_words() -> None:
    sheet = day_sheet()
    assert sheet.pages > 1
    read = Read(sheet)
    heads = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Column"]
    assert heads[1:] == ["Time", "Where, and whom to ask for", "To be tested", "Done, or why not"]
    names = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Row"]
    assert names == [str(n) for n in range(1, 31)]
    whole = squeezed(read.text(read.root.StructTreeRoot.K))
    assert whole.count("Larch Testing") == 1  # the head of later sheets is an artifact
    code, drawn = read.of("Figure")
    assert str(code.Alt) == "QR: the page to enter the tests of this day"
    assert "30 stops, numbered in the order driven" in str(drawn.Alt)
    left, low, right, high = (float(side) for side in drawn.A.BBox)
    assert (right - left, high - low) == pytest.approx((481.5, 245.0), abs=1)


def test_a_service_sheet_has_lists_and_labels_of_what_is_written_on_it() -> None:
    read = Read(service())
    assert len(read.of("L")) == 3
    assert all(squeezed(read.text(one)) for one in read.of("LBody"))
    names = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Row"]
    assert {"Line pressure", "Time", "Remarks"} <= set(names)
    heads = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Column"]
    assert heads[:5] == ["Reading", "Limit", "Before", "As found", "After repair"]
    assert all(page.get("/Tabs") == Name.S for page in read.pdf.pages)


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_is_the_same_bytes_each_time(name: str) -> None:
    assert SHEETS[name]().sha256 == SHEETS[name]().sha256
