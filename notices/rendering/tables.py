"""The letter's table of assemblies: heads repeated on every sheet, rows never broken."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import LongTable

from notices.domain.content import Row, Table
from notices.rendering import faces
from notices.rendering.marks import Element, drawn_as
from notices.rendering.paragraphs import CELL, GROUP_CELL, HEAD_CELL, INK, P

SHARES = (0.235, 0.265, 0.175, 0.175, 0.15)
"""Of the text's width: assembly, where, two dates in full, standing."""

GUTTER = 6


class RuledTable(LongTable):  # type: ignore[misc]
    """A table whose rules and grounds are artifacts: they are drawn outside any element."""

    def _drawBkgrnd(self) -> None:  # noqa: N802 - the library's name
        with drawn_as(self.canv, None):
            super()._drawBkgrnd()

    def _drawLines(self) -> None:  # noqa: N802
        with drawn_as(self.canv, None):
            super()._drawLines()


def assembly_table(table: Table, *, width: float, within: Element) -> LongTable:
    """Return the table, an element within another; a premises' title keeps with its first row."""
    part = within.add("Table")
    heads = part.add("TR")
    cells: list[list[Any]] = [
        [P(head, style=HEAD_CELL, element=heads.add("TH", scope="Column")) for head in table.heads]
    ]
    titles: list[int] = []
    for group in table.groups:
        if group.title:
            titles.append(len(cells))
            head = part.add("TR").add("TH", scope="Row", columns=len(table.heads))
            title = P(group.title, style=GROUP_CELL, element=head)
            cells.append([title, *[""] * (len(table.heads) - 1)])
        cells.extend(_cells(row, within=part.add("TR")) for row in group.rows)
    drawn = RuledTable(
        cells,
        colWidths=[share * width for share in SHARES],
        repeatRows=1,
        splitByRow=1,
        splitInRow=0,
        hAlign="LEFT",
    )
    drawn.setStyle([*_rules(len(cells)), *_titles(titles)])
    return drawn


def _cells(row: Row, *, within: Element) -> list[Any]:
    """The cells of a row; the first names it."""
    cells = []
    for place, lines in enumerate(row.cells):
        part = within.add("TD") if place else within.add("TH", scope="Row")
        cells.append([P(line, style=CELL, element=part.add("P")) for line in lines])
    return cells


def _rules(rows: int) -> list[tuple[Any, ...]]:
    return [
        ("FONTNAME", (0, 0), (-1, -1), faces.SANS),
        ("LINEABOVE", (0, 0), (-1, 0), 1, INK),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, INK),
        ("LINEBELOW", (0, 1), (-1, -1), 0.4, INK),
        ("LINEBELOW", (0, rows - 1), (-1, rows - 1), 1, INK),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-2, -1), GUTTER),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 3.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ]


def _titles(rows: list[int]) -> list[tuple[Any, ...]]:
    style: list[tuple[Any, ...]] = []
    for row in rows:
        style += [("SPAN", (0, row), (-1, row)), ("NOSPLIT", (0, row), (-1, row + 1))]
    return style
