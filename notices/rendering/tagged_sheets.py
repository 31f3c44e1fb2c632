"""Plain sheets of the office with their structure: headings, paragraphs, tables, page x of y."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, PageTemplate

from notices.rendering import faces
from notices.rendering.marks import Element, Tree
from notices.rendering.page_frame import Drawn, built, counted, draw_foot_words, text_frame
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import CELL, HEAD_CELL, INK, SECTION, TEXT, P
from notices.rendering.tables import RuledTable
from notices.rendering.tagging import About

BEFORE_TABLE = ParagraphStyle("before a table", parent=SECTION, keepWithNext=0)
"""A heading kept with a long table would take it to the next sheet whole."""

LINE = ParagraphStyle("line", parent=CELL, leftIndent=8, firstLineIndent=-8, spaceBefore=2)

Flow = Callable[[Element], Iterable[Flowable]]
"""What stands on the sheets: each piece adds its element to the part it is handed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """The bytes with their digest."""

    pdf: bytes
    sha256: str
    pages: int


def tagged_sheets(*, about: About, foot: str, flow: Flow, paper: Paper = US_LETTER) -> Sheets:
    """Draw sheets; where the count of pages was guessed wrong they are drawn once more."""
    pdf, pages = counted(partial(_drawn, about, foot, flow, paper))
    return Sheets(pdf=pdf, sha256=hashlib.sha256(pdf).hexdigest(), pages=pages)


def said(text: str, *, part: Element, style: ParagraphStyle = TEXT) -> Flowable:
    """A paragraph, an element of its own."""
    return P(text, style=style, element=part.add("P"))


def titled(
    text: str, *, part: Element, style: ParagraphStyle = SECTION, role: str = "H2"
) -> Flowable:
    """A heading, which is a bookmark too."""
    return P(text, style=style, element=part.add(role, title=text))


def listed(lines: Iterable[str], *, part: Element) -> Iterator[Flowable]:
    """A list, each line with a dash."""
    whole = part.add("L")
    for line in lines:
        item = whole.add("LI")
        yield P(f"\u2013\u00a0{line}", style=LINE, element=item.add("LBody"))


def tabled(
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    shares: Sequence[float],
    part: Element,
    paper: Paper = US_LETTER,
    tall: float = 0,
) -> Flowable:
    """A table: heads repeated on each sheet, the first cell of a row naming it.

    Without heads the first cell is a label. `tall` adds room below each row to write in.
    """
    table = part.add("Table")
    cells: list[list[Any]] = []
    if any(heads):
        row = table.add("TR")
        cells.append(
            [P(h or " ", style=HEAD_CELL, element=row.add("TH", scope="Column")) for h in heads]
        )
    cells += [_row(told, within=table.add("TR"), is_pair=not any(heads)) for told in rows]
    width = sum(shares)
    drawn = RuledTable(
        cells,
        colWidths=[share * paper.text_width / width for share in shares],
        repeatRows=1 if any(heads) else 0,
        hAlign="LEFT",
        spaceBefore=4,
    )
    drawn.setStyle(_rules(tall))
    return drawn


def _row(told: Sequence[str], *, within: Element, is_pair: bool) -> list[Any]:
    found = []
    for place, text in enumerate(told):
        cell = within.add("TD") if place else within.add("TH", scope="Row")
        style = HEAD_CELL if is_pair and not place % 2 else CELL
        found.append(P(text or " ", style=style, element=cell))
    return found


def _rules(tall: float) -> list[tuple[Any, ...]]:
    return [
        ("FONTNAME", (0, 0), (-1, -1), faces.SANS),
        ("LINEABOVE", (0, 0), (-1, 0), 1, INK),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, INK),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 6),
        ("TOPPADDING", (0, 0), (-1, -1), 2.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3 + tall),
    ]


def _drawn(about: About, foot: str, flow: Flow, paper: Paper, pages: int) -> Drawn:
    tree = Tree()

    def draw_foot(canvas: Any, document: Any) -> None:
        number = f"Page {document.page} of {pages}"
        draw_foot_words(canvas, paper, left=foot, right=number)

    frame = text_frame(paper, top=paper.later_top)
    return built(
        flow(tree.root),
        about=about,
        paper=paper,
        templates=[PageTemplate("all", frames=[frame], onPage=draw_foot)],
        tree=tree,
    )
