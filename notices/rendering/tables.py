"""The letter's table of assemblies: heads repeated on every sheet, rows never broken."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import LongTable

from notices.domain.content import Row, Table
from notices.rendering.paragraphs import CELL, GROUP_CELL, HEAD_CELL, INK, P

SHARES = (0.235, 0.265, 0.175, 0.175, 0.15)
"""Of the text's width: assembly, where, two dates in full, standing."""

GUTTER = 6


def assembly_table(table: Table, *, width: float) -> LongTable:
    """Return the table; a premises' title keeps with its first row."""
    cells: list[list[Any]] = [[P(head, style=HEAD_CELL) for head in table.heads]]
    titles: list[int] = []
    for group in table.groups:
        if group.title:
            titles.append(len(cells))
            cells.append([P(group.title, style=GROUP_CELL), *[""] * (len(table.heads) - 1)])
        cells.extend(_cells(row) for row in group.rows)
    drawn = LongTable(
        cells,
        colWidths=[share * width for share in SHARES],
        repeatRows=1,
        splitByRow=1,
        splitInRow=0,
        hAlign="LEFT",
    )
    drawn.setStyle([*_rules(len(cells)), *_titles(titles)])
    return drawn


def _cells(row: Row) -> list[Any]:
    return [[P(line, style=CELL) for line in lines] for lines in row.cells]


def _rules(rows: int) -> list[tuple[Any, ...]]:
    return [
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
