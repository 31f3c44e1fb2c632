"""Pieces that stay on one sheet, and typefaces that are cut to what a file shows."""

from __future__ import annotations

from io import BytesIO

import pytest
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from pikepdf import Pdf
from pypdf import PdfReader
from reportlab.platypus import SimpleDocTemplate, Spacer

from notices.rendering import faces
from notices.rendering.keeping import Together
from notices.rendering.paragraphs import TEXT, P


def pages_of(*story: object) -> list[str]:
    stream = BytesIO()
    SimpleDocTemplate(stream).build(list(story))
    return [page.extract_text() for page in PdfReader(BytesIO(stream.getvalue())).pages]


def test_pieces_that_fit_one_sheet_move_to_it_together() -> None:
    ten = Together(P(f"line {n}", style=TEXT) for n in range(10))
    first, second = pages_of(P("above", style=TEXT), Spacer(1, 560), ten)
    assert "line" not in first
    assert all(f"line {n}" in second for n in range(10))


def test_pieces_that_no_sheet_can_hold_go_on_over_as_many_as_they_need() -> None:
    pages = pages_of(P("above", style=TEXT), Together(P(f"row {n}", style=TEXT) for n in range(99)))
    assert len(pages) > 2
    whole = "\n".join(pages).splitlines()
    assert [line.strip() for line in whole if line.startswith("row")] == [
        f"row {n}" for n in range(99)
    ]


@pytest.mark.parametrize("face", [faces.SANS, faces.SERIF_BOLD, faces.SANS_ITALIC])
def test_an_embedded_face_is_a_font_with_the_outlines_of_the_whole(face: str) -> None:
    # fontTools reads the cut font: an independent library, that also checks its check sums.
    stream = BytesIO()
    faces.register()
    document = SimpleDocTemplate(stream, pageCompression=1)
    style = TEXT.clone("of a face", fontName=face)
    document.build([P("Ångström Zażółć ½ Жанна", style=style)])
    with Pdf.open(BytesIO(stream.getvalue())) as pdf:
        (font,) = [one for one in pdf.pages[0].Resources.Font.values() if "/FontDescriptor" in one]
        program = font.FontDescriptor.FontFile2.read_bytes()
        codes = [int(width) for width in font.Widths]
    cut = TTFont(BytesIO(program), checkChecksums=2)
    whole = TTFont(faces.FOLDER / f"{face}.ttf")
    assert set(cut.keys()) - {"GlyphOrder"} == {
        "cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp"
    }  # fmt: skip
    shown = cut["cmap"].tables[0].cmap
    assert len(codes) == len(shown) + 1  # the missing letter has no code of its own
    name = whole.getBestCmap()[ord("Å")]
    drawn = [cut["glyf"][glyph].getCoordinates(cut["glyf"])[0] for glyph in set(shown.values())]
    assert whole["glyf"][name].getCoordinates(whole["glyf"])[0] in drawn
    assert len(program) < 12_000
