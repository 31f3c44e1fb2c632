"""A DaySheet becomes a PDF: the map with the order drawn, the stops with room to write."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, LongTable
from reportlab.platypus import Table as PlatypusTable

from notices.rendering.codes import LinkCode
from notices.rendering.marks import Element, Tree, drawn_as
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import (
    CAPTION,
    CAUTION,
    HEADLINE,
    STEP,
    balanced,
)
from notices.rendering.tagged_sheets import BEFORE_TABLE, said, titled
from reports.domain.day_sheets import DaySheet, SheetStop
from reports.drawing.ground import Ground
from reports.drawing.projection import Projection, projection_of
from reports.drawing.route import RouteStop, draw_route
from reports.rendering.paper_maps import POINTS_A_PX, PaperSurface
from reports.rendering.sheets import GUTTER, RenderedSheet, SheetHead, render_sheet, ruled

MAP_HIGH = 245.0
MOST_LETTERS = 34
ROOM_TO_WRITE = 26.0
BELOW_THE_HEAD = 8.0
HEAD_HIGH = 40.0
CODE_WORDS = "QR: the page to enter the tests of this day"
MOST_HIGH = 500.0
Row = tuple[str | tuple[str, ...], ...]
_SHARES = (0.05, 0.13, 0.32, 0.3, 0.2)
_HEADS = ("", "Time", "Where, and whom to ask for", "To be tested", "Done, or why not")


def sheet_projection(sheet: DaySheet, *, paper: Paper = US_LETTER) -> Projection:
    """What part of the earth the sheet's map holds, and at which scale."""
    return _projection(sheet, width=paper.text_width)


def render_day_sheet(sheet: DaySheet, *, ground: Ground, paper: Paper = US_LETTER) -> RenderedSheet:
    """The sheet's bytes; the same round on the same ground gives the same ones."""
    head = SheetHead(
        name=sheet.firm,
        line=f"For {sheet.program}",
        contact=tuple(part for part in (sheet.phone,) if part),
        title="Day sheet",
        foot=f"{sheet.tester}, {sheet.day}",
    )

    def story(whole: Element) -> Iterator[Flowable]:
        return _story(sheet, ground=ground, width=paper.text_width, whole=whole)

    return render_sheet(head, story=story, paper=paper)


def _story(sheet: DaySheet, *, ground: Ground, width: float, whole: Element) -> Iterator[Flowable]:
    title = f"{sheet.tester}, {sheet.day}"
    yield said("Day sheet", part=whole, style=CAPTION)
    style = balanced(title, style=HEADLINE, width=width)
    yield titled(title, part=whole, style=style, role="H1")
    yield said(sheet.under, part=whole)
    yield _cautions_with_code(sheet, width=width, whole=whole)
    if sheet.placed:
        told = ". ".join(("Straight lines between stops", *ground.said, f"Travel: {sheet.travel}."))
        figure = whole.add("Figure", alt=_map_words(sheet))
        drawn = RouteDrawn(sheet, ground=ground, width=width, element=figure)
        yield KeepTogether([drawn, said(told, part=whole, style=CAUTION)])
    yield titled("What to bring", part=whole)
    bring = "; ".join(sheet.bring)
    yield said(f"{bring[:1].upper()}{bring[1:]}.", part=whole, style=CAUTION)
    rows = [_row(stop) for stop in sheet.stops]
    # The head stays with a first row; kept together with all of them it would leave a page empty.
    apart = Tree().root
    first = _table(rows[:1], width=width, part=apart).wrap(width, MOST_HIGH)[1] if rows else 0
    yield CondPageBreak(min(HEAD_HIGH + first, MOST_HIGH))
    yield titled("Stops, in the order driven", part=whole, style=BEFORE_TABLE)
    if not rows:
        yield said("Nothing is planned for this day.", part=whole, style=STEP)
        return
    yield _table(rows, width=width, part=whole)


def _map_words(sheet: DaySheet) -> str:
    """What the map shows, for who does not see it; the table says it stop by stop."""
    stops = "1 stop" if len(sheet.placed) == 1 else f"{len(sheet.placed)} stops"
    return f"Map: {stops}, numbered in the order driven; the table below names each."


def _table(rows: Sequence[Row], *, width: float, part: Element) -> LongTable:
    return ruled(_HEADS, rows, shares=_SHARES, width=width, tall=ROOM_TO_WRITE, part=part)


def _cautions_with_code(sheet: DaySheet, *, width: float, whole: Element) -> Flowable:
    heading = titled("Before every test", part=whole)
    words = [said(one, part=whole, style=CAUTION) for one in sheet.cautions]
    to_enter = titled("Enter the tests", part=whole)
    code = LinkCode(sheet.entry_link, element=whole.add("Figure", alt=CODE_WORDS))
    right = code.width + 2 * GUTTER
    pair = PlatypusTable(
        [[[heading, *words], [to_enter, code]]],
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
    """The day as driven on its ground: depot, numbered stops, straight legs between them."""

    def __init__(self, sheet: DaySheet, *, ground: Ground, width: float, element: Element) -> None:
        super().__init__()
        self._sheet, self._ground, self._element = sheet, ground, element
        self.width, self.height = width, MAP_HIGH

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the size it takes, in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the ground, the way over it, the words last: one picture with words for it."""
        left, foot = self.canv.absolutePosition(0, 0)
        self._element.box = (left, foot, left + self.width, foot + self.height)
        with drawn_as(self.canv, self._element):
            self._draw()

    def _draw(self) -> None:
        projection = _projection(self._sheet, width=self.width)
        drawn = PaperSurface(self.canv, width=projection.width, height=projection.height)
        draw_route(
            drawn,
            [
                RouteStop(number=one.number, lat=lat, lon=lon, words=one.place[0][:MOST_LETTERS])
                for one, (lat, lon) in zip(self._sheet.placed, _spots(self._sheet), strict=True)
            ],
            depot=self._sheet.depot,
            ground=self._ground,
            projection=projection,
        )


def _projection(sheet: DaySheet, *, width: float) -> Projection:
    return projection_of(
        [sheet.depot, *_spots(sheet)], width=width / POINTS_A_PX, height=MAP_HIGH / POINTS_A_PX
    )


def _spots(sheet: DaySheet) -> list[tuple[float, float]]:
    return [(one.lat or 0.0, one.lon or 0.0) for one in sheet.placed]
