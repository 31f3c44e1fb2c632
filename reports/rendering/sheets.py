"""A sheet of the office: letterhead, title, tables, foot; the same content gives the same bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    Flowable,
    LongTable,
    PageTemplate,
    Paragraph,
)

from notices.domain.cleaning import clean
from notices.rendering import faces
from notices.rendering.furniture import fitted
from notices.rendering.marks import Element, Tree, drawn_as
from notices.rendering.page_frame import Drawn, built, counted, draw_foot_words, text_frame
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import CELL, HEAD_CELL, INK, INK_2, P
from notices.rendering.tables import RuledTable
from notices.rendering.tagging import About

GUTTER = 8
FIGURE_CELL = ParagraphStyle("figure cell", parent=CELL, alignment=TA_RIGHT)
FIGURE_HEAD = ParagraphStyle("figure head", parent=HEAD_CELL, alignment=TA_RIGHT)
TEXT_TOP = 92.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetHead:
    """What stands at the head and foot of every page."""

    name: str
    line: str
    contact: tuple[str, ...]
    title: str
    foot: str
    page_words: str = "Page %(page)s of %(pages)s"
    language: str = "en"


@dataclass(frozen=True, slots=True, kw_only=True)
class RenderedSheet:
    """The bytes with their digest."""

    pdf: bytes
    sha256: str
    pages: int


Story = Callable[[Element], Iterable[Flowable]]
"""What stands on the sheet, in reading order; each piece adds its element to the part it gets."""


def render_sheet(head: SheetHead, *, story: Story, paper: Paper = US_LETTER) -> RenderedSheet:
    """Draw the sheet; where the count of pages was guessed wrong it is drawn once more."""
    pdf, pages = counted(partial(_drawn, head, story, paper))
    return RenderedSheet(pdf=pdf, sha256=hashlib.sha256(pdf).hexdigest(), pages=pages)


def ruled(
    heads: Sequence[str],
    rows: Iterable[Sequence[str | Sequence[str]]],
    *,
    shares: Sequence[float],
    width: float,
    figures: frozenset[int] = frozenset(),
    tall: float = 0,
    names: frozenset[int] = frozenset({0}),
    part: Element,
) -> LongTable:
    """A table under a ruled head; a cell of several texts sets them as lines.

    `figures` are the columns set to the right; `tall` adds room below each row to write in.
    `names` are the columns whose cells name what stands beside them in their row.
    """
    table = part.add("Table")
    cells: list[list[Any]] = []
    if any(heads):
        row = table.add("TR")
        cells.append([_head(h, is_figure=n in figures, row=row) for n, h in enumerate(heads)])
    top = len(cells)
    for told in rows:
        row = table.add("TR")
        cells.append(
            [
                _cell(cell, is_figure=n in figures, element=_cell_of(row, is_name=n in names))
                for n, cell in enumerate(told)
            ]
        )
    drawn = RuledTable(
        cells,
        colWidths=[share * width for share in shares],
        repeatRows=top,
        splitByRow=1,
        splitInRow=0,
        hAlign="LEFT",
        spaceBefore=4,
    )
    drawn.setStyle(_rules(has_head=bool(top), tall=tall))
    after = [("LEFTPADDING", (n + 1, 0), (n + 1, -1), 8) for n in figures if n + 1 not in figures]
    drawn.setStyle(after)
    return drawn


def pairs_table(
    pairs: Iterable[tuple[str, str]], *, width: float, share: float = 0.3, part: Element
) -> LongTable:
    """Labels and values in two columns, without rules."""
    table = part.add("Table")
    cells = []
    for label, value in pairs:
        row = table.add("TR")
        name = P(label, style=HEAD_CELL, element=_cell_of(row, is_name=True))
        cells.append([name, P(value, style=CELL, element=_cell_of(row, is_name=False))])
    drawn = RuledTable(cells, colWidths=[share * width, (1 - share) * width], hAlign="LEFT")
    drawn.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), GUTTER),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]
    )
    return drawn


def _head(text: str, *, is_figure: bool, row: Element) -> Paragraph:
    head = row.add("TH", scope="Column")
    return P(text or " ", style=FIGURE_HEAD if is_figure else HEAD_CELL, element=head)


def _cell_of(row: Element, *, is_name: bool) -> Element:
    return row.add("TH", scope="Row") if is_name else row.add("TD")


def _cell(
    cell: str | Sequence[str], *, is_figure: bool, element: Element
) -> Paragraph | list[Paragraph]:
    style = FIGURE_CELL if is_figure else CELL
    if isinstance(cell, str):
        return P(cell or " ", style=style, element=element)
    return [P(line, style=style, element=element.add("P")) for line in cell]


def _rules(*, has_head: bool, tall: float) -> list[tuple[Any, ...]]:
    style: list[tuple[Any, ...]] = [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, INK),
        ("LINEABOVE", (0, 0), (-1, 0), 1, INK),
        ("LINEBELOW", (0, -1), (-1, -1), 1, INK),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-2, -1), GUTTER),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 3),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5 + tall),
    ]
    if has_head:
        style += [("LINEBELOW", (0, 0), (-1, 0), 0.6, INK), ("BOTTOMPADDING", (0, 0), (-1, 0), 3.5)]
    return style


def _drawn(head: SheetHead, story: Story, paper: Paper, pages: int) -> Drawn:
    tree = Tree()
    top = tree.root.add("Sect")

    def page(canvas: Any, document: Any) -> None:
        told = head.page_words % {"page": document.page, "pages": pages}
        # What stands again at the head of every sheet is part of the text once.
        _draw_head(canvas, head, paper, top=top if document.page == 1 else None)
        draw_foot_words(canvas, paper, left=head.foot, right=told)

    about = About(
        title=clean(f"{head.title} {head.foot}"), author=clean(head.name), language=head.language
    )
    frame = text_frame(paper, top=TEXT_TOP)
    templates = [PageTemplate("sheet", frames=[frame], onPage=page)]
    return built(story(tree.root), about=about, paper=paper, templates=templates, tree=tree)


def _draw_head(canvas: Any, head: SheetHead, paper: Paper, *, top: Element | None) -> None:
    first, second = (paper.from_top(y) for y in paper.letterhead_baselines)
    right = paper.width - paper.right

    def part() -> Element | None:
        return top.add("P") if top is not None else None

    with drawn_as(canvas, part()):
        canvas.setFillColor(INK)
        canvas.setFont(faces.SERIF_BOLD, 13)
        name = fitted(head.name, face=faces.SERIF_BOLD, size=13, most=290)
        canvas.drawString(paper.left, first, name)
    with drawn_as(canvas, part()):
        canvas.setFillColor(INK_2)
        canvas.setFont(faces.SANS, 9)
        canvas.drawString(paper.left, second, fitted(head.line, face=faces.SANS, size=9, most=270))
    for line, y in zip(head.contact, (first, second), strict=False):
        with drawn_as(canvas, part()):
            canvas.drawRightString(right, y, fitted(line, face=faces.SANS, size=9, most=180))
    with drawn_as(canvas, None):
        canvas.setStrokeColor(INK)
        for y, weight in zip(paper.rules, paper.rule_weights, strict=True):
            canvas.setLineWidth(weight)
            canvas.line(paper.left, paper.from_top(y), right, paper.from_top(y))
