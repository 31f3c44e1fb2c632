"""Draws a work order on one sheet, with room for the crew to write on."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import Flowable

from notices.domain.work_orders import WorkSheet
from notices.rendering.marks import Element
from notices.rendering.paragraphs import CELL, HEADLINE, TEXT
from notices.rendering.tagged_sheets import Sheets, listed, said, tabled, tagged_sheets, titled
from notices.rendering.tagging import About


def drawn_work_order(sheet: WorkSheet) -> Sheets:
    """Return the paper; the same words give the same bytes."""
    about = About(title=f"{sheet.title}, {sheet.foot}", author=sheet.office, language="en")

    def flow(part: Element) -> Iterator[Flowable]:
        yield said(sheet.office, part=part, style=CELL)
        yield titled(sheet.title, part=part, style=HEADLINE, role="H1")
        yield said(sheet.act, part=part, style=TEXT)
        yield tabled((), sheet.facts, shares=(16, 84), part=part)
        if sheet.assemblies:
            heads = ("Assembly on it", "Type", "Size", "Where")
            yield tabled(heads, sheet.assemblies, shares=(26, 14, 14, 46), part=part)
        yield titled("Cautions", part=part)
        yield from listed(sheet.cautions, part=part)
        yield titled("Before anything is turned", part=part)
        yield from listed(sheet.before, part=part)
        yield titled("What was done (by the crew)", part=part)
        blanks = [(one, "", two, "") for one, two in sheet.blanks]
        yield tabled((), blanks, shares=(22, 28, 22, 28), part=part, tall=10)

    return tagged_sheets(about=about, foot=sheet.foot, flow=flow)
