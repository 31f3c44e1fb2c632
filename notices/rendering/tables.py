"""The letter's table of assemblies: rows whole, heads and premises repeated on each sheet."""

from __future__ import annotations

from collections.abc import Sequence
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


class GroupedTable(RuledTable):
    """A table that repeats, under its head, the title of a group that goes on to the next sheet."""

    def _splitRows(self, availHeight: float, doInRowSplit: int = 0) -> list[Any]:  # noqa: N802, N803
        first = self._getFirstPossibleSplitRowPosition(availHeight, ignoreSpans=doInRowSplit)
        title = _title_over(self._cellvalues, row=first)
        self.repeatRows = (0, title) if title else 1
        return list(super()._splitRows(availHeight, doInRowSplit))


def _title_over(rows: Sequence[Sequence[Any]], *, row: int) -> int:
    """Return the place of the title whose group goes on in this row; 0 where there is none."""
    if row >= len(rows) or _is_title(rows[row]):
        return 0
    return next((place for place in range(row - 1, 0, -1) if _is_title(rows[place])), 0)


def _is_title(cells: Sequence[Any]) -> bool:
    pieces = cells[0] if isinstance(cells[0], list | tuple) else (cells[0],)
    return any(getattr(piece, "style", None) is GROUP_CELL for piece in pieces)


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
    drawn = GroupedTable(
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
