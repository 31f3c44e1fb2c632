"""Letters for the envelopes an office buys: the address shows and nothing else, if it slips too."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from notices.catalogues import words_in
from notices.domain.addresses import AddressBlock
from notices.domain.composing import compose
from notices.domain.content import content_from_plain
from notices.domain.envelopes import (
    SHEETS,
    EnvelopeRefusedError,
    SheetSize,
    envelope_of,
    read_envelope,
    usual_envelope,
)
from notices.rendering.furniture import address_box
from notices.rendering.letters import RenderedLetter, render
from notices.rendering.paper import US_LETTER, paper_for, paper_of
from tests.domain.notices.letters import LINK, SENDER, brief, item

DL = usual_envelope(SheetSize.A4).words()
# From memory: ISO 269's C5/6, 229 x 114 mm, with DIN 680's window, 90 x 45 mm.
OTHER = "a4 229x114 90x45 20 15"


def letter_on(paper: str, *, count: int = 1, language: str = "en") -> RenderedLetter:
    items = [
        item(serial=f"S{n}", premises_key=str(n // 7), premises=f"{n // 7} Elm")
        for n in range(count)
    ]
    one = brief("final", *items, sender=replace(SENDER, paper=paper))
    content = compose(one, words=words_in(language))
    return render(content_from_plain(content.to_plain()), link=LINK)


def test_what_is_worked_out_for_a_number_ten_is_what_was_measured() -> None:
    # look: window always seen x 63-315, y 180-228 pt; text from 270.7; folds at 264 and 528.
    made = paper_for(usual_envelope(SheetSize.LETTER))
    for name in ("left", "right", "top", "bottom"):
        assert getattr(made.window_sure, name) == pytest.approx(
            getattr(US_LETTER.window_sure, name), abs=0.5
        )
        assert getattr(made.window_possible, name) == pytest.approx(
            getattr(US_LETTER.window_possible, name), abs=0.5
        )
    for name in ("width", "height", "address_x", "reference_x", "text_top", "foot_baseline"):
        assert getattr(made, name) == pytest.approx(getattr(US_LETTER, name), abs=0.5), name
    assert made.fold_marks == pytest.approx(US_LETTER.fold_marks)
    assert paper_of("") is US_LETTER


def test_a4_is_folded_at_99_and_198_mm() -> None:
    # ISO 216: A4 is 210 x 297 mm.
    folds = [y * 25.4 / 72 for y in paper_of(DL).fold_marks]
    assert folds == pytest.approx([99, 198])
    assert SHEETS[SheetSize.A4] == (210, 297)


@pytest.mark.parametrize("paper", ["", DL, OTHER])
@pytest.mark.parametrize("sideways", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("up", [0.0, 0.5, 1.0])
def test_the_address_is_seen_wherever_the_sheet_slips(
    paper: str, sideways: float, up: float
) -> None:
    # The window on the sheet, worked out here from the envelope alone: y from the sheet's top.
    one = envelope_of(paper)
    lines = (
        "Larch Court Apartments <& Co>",
        "Attention: L. Quill",
        "230 Larch Court",
        "Flats WA 99171",
    )
    box = address_box(lines, paper=paper_of(paper))
    slip_x, slip_y = sideways * one.slips_sideways, up * one.slips_up
    left = one.from_left - slip_x
    bottom = one.fold - one.from_bottom + slip_y
    seen = [left, left + one.window_width, bottom - one.window_height, bottom]
    shown = [edge * 25.4 / 72 for edge in (box.left, box.right, box.top, box.bottom)]
    assert seen[0] <= shown[0]
    assert shown[1] <= seen[1]
    assert seen[2] <= shown[2]
    assert shown[3] <= seen[3]


@pytest.mark.parametrize("paper", [DL, OTHER])
def test_nothing_but_the_address_can_be_seen_through_it(paper: str) -> None:
    seen: list[str] = []
    where, letter = paper_of(paper), letter_on(paper)
    window = where.window_possible

    def visit(text: str, _cm: object, tm: list[float], _font: object, _size: object) -> None:
        x, y = tm[4], where.height - tm[5]
        if text.strip() and x < window.right and window.top < y < window.bottom:
            seen.append(text.strip())

    page = PdfReader(BytesIO(letter.pdf)).pages[0]
    page.extract_text(visitor_text=visit)
    assert seen == ["Larch Court Apartments", "230 Larch Court", "Tamarack Flats XX 00731"]
    assert [float(side) for side in page.mediabox[2:]] == pytest.approx([595.28, 841.89], abs=0.1)


def test_an_address_too_wide_for_the_window_is_told_to_a_person() -> None:
    wide = AddressBlock(lines=("W" * 34, "230 Larch Court", "Tamarack Flats WA 99171"))
    one = brief("final", sender=replace(SENDER, paper=DL), address=wide)
    letter = render(compose(one, words=words_in("en")), link=LINK)
    assert letter.flags == ("The address does not fit the envelope's window.",)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not installed")
@pytest.mark.parametrize(("count", "language"), [(1, "es"), (30, "en")])
def test_a_letter_on_a4_has_its_pages_and_a_code_that_reads(
    count: int, language: str, tmp_path: Path
) -> None:
    letter = letter_on(DL, count=count, language=language)
    path = tmp_path / "letter.pdf"
    path.write_bytes(letter.pdf)
    asked = ["pdftoppm", "-r", "150", "-png", "-singlefile", str(path), str(tmp_path / "letter")]
    subprocess.run(asked, check=True)
    with Image.open(tmp_path / "letter.png") as picture:
        assert [code.text for code in zxingcpp.read_barcodes(picture)] == [LINK]
    assert letter.flags == ()
    assert letter.pages == len(PdfReader(BytesIO(letter.pdf)).pages)


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ("", "is no envelope. Write six figures"),
        ("220 by 110", "is no envelope"),
        ("200x110 90x45 20 15", "does not go into an envelope of 200 x 110 mm"),
        ("220x110 90x45 20 70", "could show the letterhead"),
        ("260x110 90x45 20 15", "only 40 x 34 mm are always seen"),
    ],
)
def test_figures_that_make_no_window_are_refused(told: str, why: str) -> None:
    with pytest.raises(EnvelopeRefusedError, match=why):
        read_envelope(SheetSize.A4, told)


def test_figures_may_be_written_with_commas_and_times() -> None:
    told = read_envelope(SheetSize.A4, "220 \u00d7 110, 90 x 45; 20, 15")
    assert told.words() == DL
    assert envelope_of(told.words()) == told
