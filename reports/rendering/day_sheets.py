"""A DaySheet becomes a PDF: the map with the order drawn, the stops with room to write."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, LongTable
from reportlab.platypus import Table as PlatypusTable

from notices.rendering import faces
from notices.rendering.codes import LinkCode
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import (
    CAPTION,
    CAUTION,
    HEADLINE,
    INK,
    INK_2,
    SECTION,
    STEP,
    TEXT,
    P,
    balanced,
)
from reports.domain.day_sheets import DaySheet, SheetStop
from reports.drawing.projection import projection_of
from reports.rendering.sheets import GUTTER, RenderedSheet, SheetHead, render_sheet, ruled

MAP_HIGH = 230.0
ROOM_TO_WRITE = 26.0
BELOW_THE_HEAD = 8.0
HEAD_HIGH = 40.0
MOST_HIGH = 500.0
Row = tuple[str | tuple[str, ...], ...]
_SHARES = (0.05, 0.13, 0.32, 0.3, 0.2)
_HEADS = ("", "Time", "Where, and whom to ask for", "To be tested", "Done, or why not")


def render_day_sheet(sheet: DaySheet, *, paper: Paper = US_LETTER) -> RenderedSheet:
    """The sheet's bytes; the same round gives the same ones."""
    head = SheetHead(
        name=sheet.firm,
        line=f"For {sheet.program}",
        contact=tuple(part for part in (sheet.phone,) if part),
        title="Day sheet",
        foot=f"{sheet.tester}, {sheet.day}",
    )
    return render_sheet(head, story=lambda: _story(sheet, width=paper.text_width), paper=paper)


def _story(sheet: DaySheet, *, width: float) -> Iterator[Flowable]:
    title = f"{sheet.tester}, {sheet.day}"
    yield P("Day sheet", style=CAPTION)
    yield P(title, style=balanced(title, style=HEADLINE, width=width))
    yield P(sheet.under, style=TEXT)
    yield _cautions_with_code(sheet, width=width)
    if sheet.placed:
        told = f"Straight lines between stops; north is up. Travel: {sheet.travel}."
        yield KeepTogether([RouteDrawn(sheet, width=width), P(told, style=CAUTION)])
    yield P("What to bring", style=SECTION)
    said = "; ".join(sheet.bring)
    yield P(f"{said[:1].upper()}{said[1:]}.", style=CAUTION)
    rows = [_row(stop) for stop in sheet.stops]
    # The head stays with a first row; kept together with all of them it would leave a page empty.
    first = _table(rows[:1], width=width).wrap(width, MOST_HIGH)[1] if rows else 0
    yield CondPageBreak(min(HEAD_HIGH + first, MOST_HIGH))
    yield P("Stops, in the order driven", style=ParagraphStyle("stops", SECTION, keepWithNext=0))
    if not rows:
        yield P("Nothing is planned for this day.", style=STEP)
        return
    yield _table(rows, width=width)


def _table(rows: Sequence[Row], *, width: float) -> LongTable:
    return ruled(_HEADS, rows, shares=_SHARES, width=width, tall=ROOM_TO_WRITE)


def _cautions_with_code(sheet: DaySheet, *, width: float) -> Flowable:
    code = LinkCode(sheet.entry_link)
    right = code.width + 2 * GUTTER
    said = [P("Before every test", style=SECTION), *_cautions(sheet.cautions)]
    pair = PlatypusTable(
        [[said, [P("Enter the tests", style=SECTION), code]]],
        colWidths=[width - right, right],
        hAlign="LEFT",
        spaceAfter=BELOW_THE_HEAD,
    )
    pair.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), BELOW_THE_HEAD),
        ]
    )
    return pair


def _cautions(cautions: tuple[str, ...]) -> list[Flowable]:
    return [P(words, style=CAUTION) for words in cautions]


def _row(stop: SheetStop) -> Row:
    times = (stop.times, "promised") if stop.is_fixed else (stop.times,)
    return (
        str(stop.number),
        times,
        (*stop.place, *stop.people, *stop.cautions),
        stop.work or ("nothing recorded",),
        "",
    )


class RouteDrawn(Flowable):  # type: ignore[misc]
    """The day as driven: depot, numbered stops, straight legs between them."""

    def __init__(self, sheet: DaySheet, *, width: float) -> None:
        super().__init__()
        self._sheet = sheet
        self.width, self.height = width, MAP_HIGH

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the size it takes, in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw legs first, then discs over them."""
        canvas: Any = self.canv
        stops = self._sheet.placed
        spots = [self._sheet.depot, *((stop.lat or 0.0, stop.lon or 0.0) for stop in stops)]
        projection = projection_of(spots, width=self.width, height=self.height)
        points = [(x, self.height - y) for x, y in (projection.at(*spot) for spot in spots)]
        canvas.setStrokeColor(INK_2)
        canvas.setLineWidth(0.4)
        canvas.rect(0, 0, self.width, self.height)
        canvas.setLineWidth(1.2)
        for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
            canvas.line(x1, y1, x2, y2)
        x, y = points[0]
        canvas.setFillGray(1)
        canvas.rect(x - 5, y - 5, 10, 10, fill=1)
        for stop, (x, y) in zip(stops, points[1:], strict=True):
            canvas.setFillColor(INK)
            canvas.circle(x, y, 8, stroke=0, fill=1)
            canvas.setFillGray(1)
            canvas.setFont(faces.SANS_BOLD, 9)
            canvas.drawCentredString(x, y - 3.2, str(stop.number))
