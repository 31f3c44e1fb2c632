"""What a screen reader gets of a letter: its parts in order, heads, picture text, whole words.

Machine-checked in part: by these assertions, and where `pdfinfo` of poppler is there by its own
reading of the structure. No claim is made that a letter conforms to PDF/UA.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any, Protocol

import pytest
from pikepdf import Name, Pdf
from pypdf import PdfReader

from notices.catalogues import words_in
from notices.domain.composing import compose
from notices.domain.content import LetterContent
from notices.rendering.letters import RenderedLetter, render
from notices.rendering.tagging import lightly
from tests.domain.notices.letters import LINK, brief, item

LONGEST_KEPT = 25_000
"""Bytes of the median letter, tagging included: what ten years of letters may weigh."""


def content_of(count: int = 1) -> LetterContent:
    items = [
        item(serial=f"S{n:04d}", premises_key=str(n // 7), premises=f"{200 + n // 7} Larch Court")
        for n in range(count)
    ]
    one = brief("final", *items, second_language="es")
    return compose(one, words=words_in("en"), second_words=words_in("es"))


def letter_of(count: int = 1) -> RenderedLetter:
    return render(content_of(count), link=LINK)


class HasPdf(Protocol):
    """A paper as it was drawn."""

    @property
    def pdf(self) -> bytes:
        """Its bytes."""


class Read:
    """The structure as it stands in the file, and the text of each element by its marks."""

    def __init__(self, letter: HasPdf) -> None:
        self.pdf = Pdf.open(BytesIO(letter.pdf))
        self.root = self.pdf.Root
        self._texts = _texts_by_mark(letter.pdf)
        self._pages = {page.obj.objgen: index for index, page in enumerate(self.pdf.pages)}

    def walk(self, node: Any | None = None) -> Iterator[Any]:
        node = self.root.StructTreeRoot.K if node is None else node
        yield node
        for kid in node.get("/K", []):
            if not isinstance(kid, int) and "/S" in kid:
                yield from self.walk(kid)

    def of(self, role: str) -> list[Any]:
        return [node for node in self.walk() if Name(f"/{role}") == node.S]

    def text(self, node: Any) -> str:
        found = ""
        for kid in node.get("/K", []):
            if isinstance(kid, int):
                found += self._texts.get((self._pages[node.Pg.objgen], kid), "")
            elif "/MCID" in kid:
                found += self._texts.get((self._pages[kid.Pg.objgen], int(kid.MCID)), "")
            else:
                found += self.text(kid) + " "
        return found


def _texts_by_mark(pdf: bytes) -> dict[tuple[int, int], str]:
    """The text between each pair of marks, read by pypdf: another library than wrote it."""
    found: dict[tuple[int, int], str] = {}
    for index, page in enumerate(PdfReader(BytesIO(pdf)).pages):
        open_marks: list[int | None] = []

        def before(op: bytes, args: Any, _cm: Any, _tm: Any, marks: Any = open_marks) -> None:
            if op == b"BDC":
                marks.append(int(args[1]["/MCID"]))
            elif op == b"BMC":
                marks.append(None)
            elif op == b"EMC":
                marks.pop()

        def text(shown: str, *_rest: Any, marks: Any = open_marks, at: int = index) -> None:
            if shown and marks and marks[-1] is not None:
                key = (at, marks[-1])
                found[key] = found.get(key, "") + shown.replace("\n", "")

        page.extract_text(visitor_operand_before=before, visitor_text=text)
        assert open_marks == []
    return found


def squeezed(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


def test_the_file_says_its_language_title_and_that_it_is_marked() -> None:
    read = Read(letter_of())
    assert str(read.root.Lang) == "en"
    assert bool(read.root.MarkInfo.Marked)
    assert bool(read.root.ViewerPreferences.DisplayDocTitle)
    with read.pdf.open_metadata() as meta:
        assert meta["dc:title"] == str(read.pdf.docinfo["/Title"])
        assert "pdfuaid:part" not in meta  # no claim that nobody has checked in full
    assert all(page.get("/Tabs") == Name.S for page in read.pdf.pages)


def test_the_parts_come_in_the_order_of_the_letter_with_its_words_whole() -> None:
    content, read = content_of(), Read(letter_of())
    (title,) = read.of("H1")
    assert squeezed(read.text(title)) == squeezed(" ".join(content.headline))
    heads = [squeezed(read.text(node)) for node in read.of("H2")]
    assert heads == [content.steps_heading, *(section.heading for section in content.sections)]
    whole = squeezed(read.text(read.root.StructTreeRoot.K))
    at = 0
    for text in (
        *content.address_lines,
        *content.headline,
        content.second_headline,
        *content.paragraphs,
        *content.table.heads,
        *content.steps,
        *(paragraph for section in content.sections for paragraph in section.paragraphs),
        *content.cautions,
    ):
        place = whole.find(squeezed(text), at)
        assert place >= 0, text
        at = place


def test_words_at_the_ends_of_lines_do_not_run_together() -> None:
    content, read = content_of(), Read(letter_of())
    told = [squeezed(read.text(node)) for node in read.of("P")]
    for paragraph in [*content.paragraphs, *content.sections[0].paragraphs]:
        assert len(paragraph) > 100  # it takes more than one line
        assert squeezed(paragraph) in told


def test_the_table_has_heads_with_their_scope_once() -> None:
    content, read = content_of(30), Read(letter_of(30))
    assert len(read.pdf.pages) > 2
    heads = [squeezed(read.text(node)) for node in read.of("TH") if node.A.Scope == "/Column"]
    assert heads == list(content.table.heads)  # those repeated on later sheets are artifacts
    rows = [node for node in read.of("TH") if node.A.Scope == "/Row" and "/ColSpan" not in node.A]
    assert len(rows) == 30
    groups = [node for node in read.of("TH") if "/ColSpan" in node.A]
    assert [squeezed(read.text(node)) for node in groups] == [
        group.title for group in content.table.groups
    ]


def test_the_picture_has_words_and_a_place_and_the_second_language_is_named() -> None:
    content, read = content_of(), Read(letter_of())
    (figure,) = read.of("Figure")
    assert content.link.shown_address in str(figure.Alt)
    left, bottom, right, top = (float(side) for side in figure.A.BBox)
    assert 72 <= right - left == pytest.approx(top - bottom)
    (spanish,) = [node for node in read.walk() if "/Lang" in node]
    assert str(spanish.Lang) == "es"
    assert squeezed(read.text(spanish)) == squeezed(content.second_headline)


def test_every_mark_is_in_the_tree_and_every_mark_in_the_tree_is_drawn() -> None:
    letter = letter_of(30)
    read = Read(letter)
    drawn = set(_texts_by_mark(letter.pdf))
    kept: set[tuple[int, int]] = set()
    numbers = read.root.StructTreeRoot.ParentTree.Nums
    for index in range(0, len(numbers), 2):
        kept |= {(int(numbers[index]), mark) for mark in range(len(numbers[index + 1]))}
    assert drawn <= kept
    named = sum(
        1 for node in read.walk() for kid in node.K if isinstance(kid, int) or "/MCID" in kid
    )
    assert named == len(kept)


def test_headings_are_bookmarks() -> None:
    content = content_of()
    titles = [item["/Title"] for item in PdfReader(BytesIO(letter_of().pdf)).outline]  # type: ignore[call-overload]
    assert titles == [
        squeezed(" ".join(content.headline)),
        content.steps_heading,
        *(section.heading for section in content.sections),
    ]


def test_the_usual_letter_stays_light_and_its_fonts_are_within_it() -> None:
    letter = letter_of()
    assert len(letter.pdf) <= LONGEST_KEPT
    with Pdf.open(BytesIO(letter.pdf)) as pdf:
        fonts = [font for page in pdf.pages for font in page.Resources.Font.values()]
        assert fonts
        assert all("/FontFile2" in font.FontDescriptor for font in fonts)


def test_the_same_letter_gives_the_same_bytes_with_its_tags() -> None:
    assert letter_of(9).pdf == letter_of(9).pdf


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler's pdfinfo is not installed")
def test_poppler_reads_the_same_order(tmp_path: Path) -> None:
    path = tmp_path / "letter.pdf"
    path.write_bytes(letter_of().pdf)
    told = subprocess.run(
        ["pdfinfo", "-struct-text", str(path)], capture_output=True, text=True, check=True
    ).stdout
    lines = [line.split() for line in told.splitlines() if line.strip() and '"' not in line]
    roles = [words[0].rstrip(":") for words in lines]
    assert roles.index("H1") < roles.index("Table") < roles.index("L") < roles.index("Figure")
    assert "Syntax" not in told


@pytest.mark.parametrize(
    ("code", "light"),
    [
        (r"(\001\002 \\001\)) Tj", "(\x01\x02 \\\\001\\)) Tj"),
        (r"(a\015\012\050\200\000) Tj", "(a\\015\n\\050\\200\\000) Tj"),
    ],
)
def test_a_pages_letters_stand_as_bytes_where_a_string_may_hold_them(code: str, light: str) -> None:
    # ISO 32000-1, 7.3.4.2: a carriage return would be read as a line feed; brackets must balance.
    assert lightly(code) == light
