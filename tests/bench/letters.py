"""Letters drawn and gathered into files, beside a bare ReportLab canvas that draws the same pages.

Run alone: `python -m tests.bench.letters [single|batch]`; BENCH_CLOCK as elsewhere.
The bare canvas gets what layout works out for nothing: every line wrapped, its place, face, size
and colour. Faces, QR and compression are the same on both sides.
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from functools import cache
from io import BytesIO
from typing import Any
from unittest import mock

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from reportlab.lib.colors import Color  # noqa: E402  (needs the settings)
from reportlab.pdfbase import pdfmetrics  # noqa: E402
from reportlab.pdfbase.ttfonts import TTFont  # noqa: E402
from reportlab.pdfgen.canvas import Canvas  # noqa: E402
from reportlab.pdfgen.textobject import PDFTextObject  # noqa: E402

from notices.catalogues import words_in  # noqa: E402
from notices.domain.addresses import MailingAddress, window_block  # noqa: E402
from notices.domain.composing import compose  # noqa: E402
from notices.domain.content import LetterContent  # noqa: E402
from notices.rendering import faces, page_frame  # noqa: E402
from notices.rendering.batches import batch  # noqa: E402
from notices.rendering.codes import MODULE_PT, LinkCode, matrix_of  # noqa: E402
from notices.rendering.letters import render  # noqa: E402
from notices.rendering.logos import read_logo  # noqa: E402
from notices.rendering.paper import US_LETTER  # noqa: E402
from notices.rendering.tagging import TaggedCanvas  # noqa: E402
from tests.bench.letter_logos import four_colours  # noqa: E402
from tests.bench.million.timing import Row, medians, timed  # noqa: E402
from tests.domain.notices.letters import ADDRESS, LINK, brief, item  # noqa: E402

LETTERS = 60
"""Different letters of each measure of single files."""

BATCH = 200
"""Letters of one batch file."""

TIMES = 5
KINDS = ("reminder", "first-overdue", "second-overdue", "final")


@dataclass(slots=True)
class Page:
    """What one sheet shows: lines of text as wrapped, ruled lines, and the place of its QR."""

    texts: list[tuple[float, float, str, float, Any, str]] = field(default_factory=list)
    rules: list[tuple[float, float, float, float, float, Any]] = field(default_factory=list)
    code: tuple[float, float] = (0, 0)


@dataclass(frozen=True, slots=True)
class Sample:
    """A letter to be drawn: its words, its link, and its one sheet for the bare canvas."""

    content: LetterContent
    link: str
    page: Page


def main() -> None:
    """Measure, and print the rows as JSON."""
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    measures: dict[str, Callable[[], list[Row]]] = {"single": single_files, "batch": batch_files}
    rows = [row for name, rows_of in measures.items() if only in ("", name) for row in rows_of()]
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(json.dumps({"rows": [asdict(r) for r in rows], "megabytes": memory}) + "\n")


def content_of(number: int) -> LetterContent:
    """Return the usual letter of one assembly in two languages, its names all its own."""
    address = replace(ADDRESS, name=f"Larch Court {number} Apartments", street=f"{number} Birch Rd")
    one = item(serial=f"F{number:05d}", premises=f"{number} Birch Rd")
    told = brief(
        KINDS[number % len(KINDS)],
        one,
        number=f"25-1103-{number:04d}",
        address=window_block(MailingAddress(**asdict(address))),
        second_language="es",
    )
    return compose(told, words=words_in("en"), second_words=words_in("es"))


def samples(count: int) -> list[Sample]:
    """Return so many different letters of one sheet each."""
    made = []
    for number in range(count):
        content = content_of(number)
        link = f"{LINK[:-4]}{number:04d}"
        made.append(Sample(content, link, seen(content, link=link)))
    return made


def seen(content: LetterContent, *, link: str) -> Page:
    """Draw a letter once and keep what was put on its sheet, line by line."""
    page = Page()
    said, ruled, flowed = PDFTextObject._formatText, Canvas.line, LinkCode.draw

    def text(self: Any, words: str) -> Any:
        x, y = self._canvas.absolutePosition(self._x, self._y)
        page.texts.append((x, y, self._fontname, self._fontsize, self._canvas._fillColorObj, words))
        return said(self, words)

    def line(self: Any, x1: float, y1: float, x2: float, y2: float) -> None:
        start, end = self.absolutePosition(x1, y1), self.absolutePosition(x2, y2)
        page.rules.append((*start, *end, self._lineWidth, self._strokeColorObj))
        ruled(self, x1, y1, x2, y2)

    def code(self: Any) -> None:
        page.code = self.canv.absolutePosition(0, 0)
        flowed(self)

    with (
        mock.patch.object(PDFTextObject, "_formatText", text),
        mock.patch.object(Canvas, "line", line),
        mock.patch.object(LinkCode, "draw", code),
    ):
        made = render(content, link=link)
    assert made.pages == 1
    return page


def single_files() -> list[Row]:
    """One file for each letter: without tags, as kept, and how light it is."""
    found = samples(LETTERS)
    bare = _each(found, lambda one: drawn_bare([one]))
    with untagged():
        took, limit = medians(_each(found, _rendered), bare, times=TIMES)
    rows = [_row("letters, untagged", took, limit, share=0.75)]
    took, limit = medians(_each(found, _rendered), bare, times=TIMES)
    rows.append(_row("letters, tagged", took, limit, share=0.45))
    sizes = [len(_rendered(one)) for one in found]
    weight = Row(
        name="bytes of a kept letter", seconds=statistics.median(sizes), limit=25_000, reach=1,
        unit="B", note=f"{min(sizes):,} to {max(sizes):,}",
    )  # fmt: skip
    return [*rows, weight, _with_logo(found)]


def _with_logo(found: Sequence[Sample]) -> Row:
    """How light the same letters are with a usual logo."""
    logo = read_logo(four_colours()).png
    sizes = []
    for one in found:
        head = replace(one.content.letterhead, logo="x")
        content = replace(one.content, letterhead=head)
        sizes.append(len(render(content, link=one.link, logo=logo).pdf))
    return Row(
        name="bytes of a kept letter with a logo", seconds=statistics.median(sizes),
        limit=25_000, reach=1, unit="B", note=f"{min(sizes):,} to {max(sizes):,}",
    )  # fmt: skip


@contextmanager
def untagged() -> Iterator[None]:
    """Letters as ReportLab ends them: no structure, nothing packed."""
    with (
        mock.patch.object(page_frame, "packed", lambda pdf: pdf),
        mock.patch.object(TaggedCanvas, "save", Canvas.save),
    ):
        yield


def batch_files() -> list[Row]:
    """Kept letters gathered into one file, beside their pages drawn into one file."""
    found = samples(BATCH)
    kept = [_rendered(one) for one in found]
    took, limit = medians(
        lambda: timed(lambda: batch(kept)), lambda: timed(lambda: drawn_bare(found)), times=TIMES
    )
    return [_row(f"{BATCH} kept letters into one file", took, limit, share=0.45, each=BATCH)]


def drawn_bare(found: Sequence[Sample]) -> bytes:
    """Draw the sheets by a bare canvas, one file for all: nothing is wrapped or looked up."""
    stream = BytesIO()
    canvas = Canvas(
        stream,
        pagesize=(US_LETTER.width, US_LETTER.height),
        pageCompression=1,
        invariant=1,
        initialFontName=_plain(faces.SANS),
    )
    for one in found:
        _sheet(canvas, one)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


@cache
def _plain(face: str) -> str:
    """The same typeface as ReportLab embeds it by itself."""
    name = f"Plain{face}"
    # ReportLab takes a face that it knows for the one it has: registered past that.
    pdfmetrics._fonts[name] = TTFont(name, str(faces.FOLDER / f"{face}.ttf"), asciiReadable=0)
    return name


def _sheet(canvas: Any, one: Sample) -> None:
    colour: Color | None = None
    for x1, y1, x2, y2, weight, stroke in one.page.rules:
        canvas.setLineWidth(weight)
        canvas.setStrokeColor(stroke)
        canvas.line(x1, y1, x2, y2)
    for x, y, face, size, fill, words in one.page.texts:
        if fill is not colour:
            canvas.setFillColor(fill)
            colour = fill
        if (_plain(face), size) != (canvas._fontname, canvas._fontsize):
            canvas.setFont(_plain(face), size)
        canvas.drawString(x, y, words)
    matrix = matrix_of(one.link)
    side, (x, y) = matrix.size * MODULE_PT, one.page.code
    canvas.setFillGray(0)
    canvas._code.append(
        f"q {side:.2f} 0 0 {side:.2f} {x:.2f} {y:.2f} cm BI /W {matrix.size} /H {matrix.size} "
        f"/BPC 1 /IM true /F /AHx ID {matrix.bits.hex()}> EI Q"
    )


def _rendered(one: Sample) -> bytes:
    return render(one.content, link=one.link).pdf


def _each(found: Sequence[Sample], work: Callable[[Sample], object]) -> Callable[[], float]:
    return lambda: timed(lambda: [work(one) for one in found])


def _row(name: str, took: float, limit: float, *, share: float, each: int = LETTERS) -> Row:
    """`share` of the bare canvas's speed is to be reached."""
    note = f"{limit / took:.0%} of the bare canvas's speed; {1000 * took / each:.1f} ms a letter"
    return Row(name=name, seconds=took, limit=limit, reach=1 / share, note=note)


if __name__ == "__main__":
    main()
