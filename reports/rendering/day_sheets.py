"""A DaySheet becomes a PDF: the map with the order drawn, the stops with room to write."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, LongTable
from reportlab.platypus import Table as PlatypusTable

from notices.rendering.codes import LinkCode
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import (
    CAPTION,
    CAUTION,
    HEADLINE,
    SECTION,
    STEP,
    TEXT,
    P,
    balanced,
)
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
    return render_sheet(
        head, story=lambda: _story(sheet, ground=ground, width=paper.text_width), paper=paper
    )


def _story(sheet: DaySheet, *, ground: Ground, width: float) -> Iterator[Flowable]:
    title = f"{sheet.tester}, {sheet.day}"
    yield P("Day sheet", style=CAPTION)
    yield P(title, style=balanced(title, style=HEADLINE, width=width))
    yield P(sheet.under, style=TEXT)
    yield _cautions_with_code(sheet, width=width)
    if sheet.placed:
        told = ". ".join(("Straight lines between stops", *ground.said, f"Travel: {sheet.travel}."))
        drawn = RouteDrawn(sheet, ground=ground, width=width)
        yield KeepTogether([drawn, P(told, style=CAUTION)])
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
    """The day as driven on its ground: depot, numbered stops, straight legs between them."""

    def __init__(self, sheet: DaySheet, *, ground: Ground, width: float) -> None:
        super().__init__()
        self._sheet, self._ground = sheet, ground
        self.width, self.height = width, MAP_HIGH

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the size it takes, in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the ground, the way over it, the words last."""
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
