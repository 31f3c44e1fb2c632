"""The letter on paper: what is printed, where it stands, and what it never opens."""

from __future__ import annotations

import gettext
import re
import subprocess
import sys
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
import segno
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from notices.catalogues import words_in
from notices.domain.addresses import MailingAddress, window_block
from notices.domain.briefs import Brief, Item
from notices.domain.composing import compose
from notices.domain.kinds import FireLine, LetterKind
from notices.rendering.faces import missing_letters
from notices.rendering.furniture import address_box
from notices.rendering.letters import RenderedLetter, render
from notices.rendering.paper import US_LETTER
from notices.rendering.paragraphs import TEXT, P
from tests.domain.notices.letters import LADDER, LINK, SENDER, brief, item

GOLDEN = Path(__file__).parent / "golden"
WORD = "x" * 10_000
HOSTILE = ["A <B & C", '<img src="x">', "</para><b>", "&bogus;", WORD, "Жанна Щукина", "Łuczak"]


def drawn(one: Brief) -> RenderedLetter:
    second = words_in(one.second_language) if one.second_language else None
    content = compose(one, words=gettext.NullTranslations(), second_words=second)
    return render(content, link=LINK)


def text_of(letter: RenderedLetter) -> str:
    reader = PdfReader(BytesIO(letter.pdf))
    text = "\n".join(page.extract_text() for page in reader.pages).replace("\u00a0", " ")
    return re.sub(r" +$", "", text, flags=re.MULTILINE)  # each line keeps its own blank


def hostile(text: str) -> Brief:
    one = item(serial=text, location=text, premises=text)
    address = MailingAddress(name=text, street=text, city="Tamarack Flats", state="XX", zip="00731")
    return brief("first-overdue", one, address=window_block(address))


def test_the_same_content_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import sys\n"
        "from tests.notices.test_rendering import drawn\n"
        "from tests.domain.notices.letters import brief\n"
        "sys.stdout.write(drawn(brief('final')).sha256)"
    )
    other = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    assert drawn(brief("final")).sha256 == other


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: text[:12])
def test_text_from_data_is_printed_as_it_stands(text: str) -> None:
    letter = drawn(hostile(text))
    shown = re.sub(r"\s", "", text_of(letter))
    assert re.sub(r"\s", "", text[:40]) in shown
    assert letter.pages <= 2


def test_a_word_of_ten_thousand_letters_is_cut_with_an_ellipsis() -> None:
    shown = text_of(drawn(hostile(WORD)))
    assert "\u2026" in shown
    assert shown.count("x") < 500


def test_no_name_makes_the_drawing_open_a_file_or_a_connection() -> None:
    opened: list[str] = []
    drawn(brief("final"))  # the faces are read once, before the listening starts

    def listen(event: str, args: tuple[object, ...]) -> None:
        if listening and event in {"open", "socket.connect", "urllib.Request"}:
            opened.append(f"{event} {args[0]}")

    listening = True
    sys.addaudithook(listen)
    try:
        for name in ('<img src="/etc/hostname"/>', '<img src="http://127.0.0.1:9/x"/>'):
            drawn(hostile(name))
    finally:
        listening = False
    assert opened == []


def test_letters_that_no_typeface_holds_are_told_to_a_person() -> None:
    assert missing_letters(["Жанна Łuczak Nguyễn ½ ¾ – ’"]) == ""
    (flag,) = drawn(brief("reminder", item(location="名前 😀"))).flags
    assert "名" in flag
    assert "😀" in flag


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        ("Ed", 3),
        ("W" * 34, 3),
        ("The Quillfeather and Stillbrook Residential Apartments, Incorporated", 4),
        ("Quillfeather and Stillbrook Residential Apartments " * 2, 5),
    ],
)
def test_the_address_stays_inside_the_window_however_the_sheet_slips(name: str, lines: int) -> None:
    # #10 envelope, window 114.3 x 28.6 mm, 22.2 mm from the left and 12.7 mm from the bottom;
    # the folded sheet slips 25.4 mm sideways and 11.6 mm up: this much is always seen.
    block = window_block(
        MailingAddress(name=name, street="9 Elm", city="Tamarack Flats", state="XX", zip="00731")
    )
    assert len(block.lines) == lines
    box = address_box(block.lines, paper=US_LETTER)
    fits = US_LETTER.window_sure.holds(box)
    flags = drawn(brief("reminder", address=block)).flags
    assert fits == (flags == ())
    assert US_LETTER.window_possible.holds(box) or flags


def test_nothing_but_the_address_can_be_seen_through_the_window() -> None:
    # The text may wander at most into x 0-387, y 147-261: whatever is printed there is address.
    seen: list[str] = []
    window = US_LETTER.window_possible
    letter = drawn(brief("final", item(), item(serial="B")))

    def visit(text: str, _cm: object, tm: list[float], _font: object, _size: object) -> None:
        x, y = tm[4], US_LETTER.height - tm[5]
        if text.strip() and x < window.right and window.top < y < window.bottom:
            seen.append(text.strip())

    PdfReader(BytesIO(letter.pdf)).pages[0].extract_text(visitor_text=visit)
    assert seen == ["Larch Court Apartments", "230 Larch Court", "Tamarack Flats XX 00731"]


@pytest.mark.parametrize("count", [1, 3, 60])
def test_long_tables_break_with_their_heads_and_number_their_pages(count: int) -> None:
    items = [
        item(serial=f"S{n:04d}", premises_key=str(n // 7), premises=f"{200 + n // 7} Larch Court")
        for n in range(count)
    ]
    letter = drawn(brief("second-overdue", *items))
    pages = [
        page.extract_text().replace("\u00a0", " ") for page in PdfReader(BytesIO(letter.pdf)).pages
    ]
    assert letter.pages == len(pages)
    for number, page in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in page
        assert ("Last passed" in page) == ("serial S" in page)
    whole = "\n".join(pages)
    assert all(f"serial S{n:04d}" in whole for n in range(count))


def test_the_qr_is_read_back_from_the_picture_at_150_dots_per_inch(tmp_path: Path) -> None:
    path = tmp_path / "letter.pdf"
    path.write_bytes(drawn(brief("final")).pdf)
    subprocess.run(
        ["pdftoppm", "-r", "150", "-png", "-singlefile", str(path), str(tmp_path / "letter")],
        check=True,
    )
    with Image.open(tmp_path / "letter.png") as picture:
        found = zxingcpp.read_barcodes(picture)
    assert [code.text for code in found] == [LINK]


def test_the_qr_has_its_modules_and_quiet_zone() -> None:
    # look: module at least 2.4 pt, 33 to 37 modules for a link with a 128-bit token.
    from notices.rendering.codes import MODULE_PT, QUIET_MODULES, matrix_of

    assert MODULE_PT >= 2.4
    assert QUIET_MODULES >= 4
    assert 33 <= matrix_of(LINK).size <= 37
    assert (
        matrix_of(LINK).size
        == segno.make_qr(LINK, error="m", boost_error=False).symbol_size(border=0)[0]
    )


def test_what_reaches_a_paragraph_is_never_markup() -> None:
    shown = P('<b>bold</b> & <img src="/etc/hostname"/>', style=TEXT).getPlainText()
    assert shown == '<b>bold</b> & <img src="/etc/hostname"/>'


def _usual(kind: LetterKind) -> Brief:
    failed = kind is LetterKind.REPAIR
    late = kind not in {LetterKind.TEST_OWED, LetterKind.REMINDER, LetterKind.SECOND_REMINDER}
    one: Item = item(
        due_on=date(2025, 11, 1) if late else date(2025, 12, 18),
        failed_on=date(2025, 11, 3) if failed else None,
        cure_by=date(2025, 11, 24) if failed else None,
        cause="Installed November\u00a01, 2025" if kind is LetterKind.TEST_OWED else "",
    )
    two = item(serial="C4-77120", service="fire", location="riser room", fire=FireLine.DEDICATED)
    items = (one, two) if kind is LetterKind.FIRST_OVERDUE else (one,)
    return brief(kind, *items, sender=SENDER, second_language="es")


@pytest.mark.parametrize("kind", [LetterKind(step.kind) for step in LADDER])
def test_the_text_of_each_kind_is_as_kept(kind: LetterKind) -> None:
    kept = GOLDEN / f"{kind}.txt"
    assert text_of(drawn(_usual(kind))).strip() == kept.read_text(encoding="utf-8").strip()


def write_golden() -> None:
    """Write the kept texts anew; read the difference before keeping it."""
    for kind in LetterKind:
        text = text_of(drawn(_usual(kind))).strip()
        (GOLDEN / f"{kind}.txt").write_text(f"{text}\n", encoding="utf-8")
