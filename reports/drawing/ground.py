"""The ground of a drawn map: land, water, county lines, streets with names, a grid, a scale, north.

Nothing of it needs a network: streets are those of the office's own extract of open street data,
or follow from the addresses on record; water comes from an extract only.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from reports.drawing.labels import Taken
from reports.drawing.projection import MILE_M, Projection
from reports.drawing.streets import METRES_A_DEGREE
from reports.drawing.surface import Surface
from reports.drawing.svg import Sheet
from scheduling.roads.drawn import DrawnLine

FEET_A_MILE: Final = 5280
_STEPS: Final = (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0, 250.0)
_STEP_WORDS: Final = {0.25: "¼ mile", 0.5: "½ mile", 1.0: "1 mile"}
_BAR_PX: Final = 90.0
_GRID_PX: Final = 56.0
_LEAST_LABEL_PX: Final = 60.0


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What lies under the marks, and whose work it is, in sentences without their full stop."""

    lines: tuple[DrawnLine, ...] = ()
    said: tuple[str, ...] = ()
    has_extract: bool = False


def miles_in_words(miles: float) -> str:
    """`½ mile`; under a quarter of one in feet: 264 ft, 528 ft."""
    if miles < 0.25:
        return f"{round(miles * FEET_A_MILE):,} ft"
    return _STEP_WORDS.get(miles, f"{miles:g} miles")


def grid_miles(projection: Projection) -> float:
    """How wide the squares of the grid are: the first round step that leaves them room."""
    mile_px = MILE_M * projection.px_a_metre
    return next((step for step in _STEPS if step * mile_px >= _GRID_PX), _STEPS[-1])


def sheet_on(ground: Ground, projection: Projection, *, says: str) -> tuple[Sheet, Taken]:
    """A sheet with the ground drawn, and what its labels have taken of it."""
    sheet = Sheet(width=projection.width, height=projection.height, says=says)
    return sheet, lay_ground(sheet, ground, projection)


def lay_ground(sheet: Surface, ground: Ground, projection: Projection) -> Taken:
    """Land first, streets last; marks and words go over it, and keep clear of what it says."""
    taken = Taken(sheet)
    sheet.rect(0, 0, sheet.width, sheet.height, look="land")
    _areas(sheet, (line for line in ground.lines if line.kind == "water"), projection)
    names = _grid(sheet, projection)
    taken.add((sheet.width - 120, sheet.height - 126, sheet.width, sheet.height))
    lines = [line for line in ground.lines if line.kind != "water"]
    runs = [(line.kind, run) for line in lines for run in projection.runs(line.points)]
    for kind, run in runs:
        if kind in {"river", "shore", "county"}:
            sheet.polyline(run, look=kind)
    for look in ("street-edge", "street"):
        for kind, run in runs:
            if kind not in {"river", "shore", "county"}:
                sheet.polyline(run, look=f"{look} of-{kind}")
    for x, y, words in names:
        sheet.text(x, y, words, look="grid-name")
        taken.add((x - 5, y - 12, x + 58, y + 3))
    return taken


def name_streets(sheet: Surface, ground: Ground, projection: Projection, taken: Taken) -> None:
    """Names along their streets and waters where there is room, the longest first, each once."""
    runs = [
        (line, run)
        for line in ground.lines
        if line.name and line.kind != "county"
        for run in projection.runs(line.points)
    ]
    named: set[str] = set()
    for line, run in sorted(runs, key=lambda one: (-_length(one[1]), one[0].name)):
        if line.name in named or _length(run) < _LEAST_LABEL_PX:
            continue
        look = "water-name" if line.kind in {"water", "river", "shore"} else "road-name"
        if taken.along(run, line.name, look=look):
            named.add(line.name)


def finish(sheet: Surface, projection: Projection) -> None:
    """The scale, north, and the frame, over everything."""
    miles = next(
        (m for m in reversed(_STEPS) if m * MILE_M * projection.px_a_metre < _BAR_PX), _STEPS[0]
    )
    wide = miles * MILE_M * projection.px_a_metre
    x, y = sheet.width - 18 - wide, sheet.height - 26
    ends = ((x, y - 5), (x, y), (x + wide, y), (x + wide, y - 5))
    sheet.polyline(ends, look="ink w2 scale")
    sheet.text(x + wide, y + 15, miles_in_words(miles), look="on-land end")
    x, y = sheet.width - 26, sheet.height - 104
    sheet.text(x, y - 4, "N", look="serif bold middle")
    sheet.polygon(((x, y), (x + 5, y + 18), (x - 5, y + 18)), look="solid")
    sheet.polygon(((x, y + 38), (x + 5, y + 20), (x - 5, y + 20)), look="hollow")
    sheet.rect(0.5, 0.5, sheet.width - 1, sheet.height - 1, look="frame")


def _areas(sheet: Surface, waters: Iterable[DrawnLine], projection: Projection) -> None:
    for water in waters:
        spots = [projection.at(*point) for point in water.points]
        sheet.polygon(_clipped(spots, sheet), look="water")


def _clipped(spots: Sequence[tuple[float, float]], sheet: Surface) -> list[tuple[float, float]]:
    """An area within the sheet and a little beyond (Sutherland and Hodgman's clipping)."""
    found = list(spots)
    for axis, edge, sign in (
        (0, -9.0, 1), (0, sheet.width + 9, -1), (1, -9.0, 1), (1, sheet.height + 9, -1),
    ):  # fmt: skip
        kept: list[tuple[float, float]] = []
        for (ax, ay), (bx, by) in zip(found, [*found[1:], *found[:1]], strict=True):
            a_in = ((ax, ay)[axis] - edge) * sign >= 0
            b_in = ((bx, by)[axis] - edge) * sign >= 0
            if a_in:
                kept.append((ax, ay))
            if a_in != b_in:
                share = (edge - (ax, ay)[axis]) / ((bx, by)[axis] - (ax, ay)[axis])
                kept.append((ax + share * (bx - ax), ay + share * (by - ay)))
        found = kept
    return found


def _grid(sheet: Surface, projection: Projection) -> list[tuple[float, float, str]]:
    """Squares of a round number of miles, counted from the equator and Greenwich; their names."""
    names: list[tuple[float, float, str]] = []
    metres = grid_miles(projection) * MILE_M
    extent = projection.extent
    for degrees in _steps(extent.south, extent.north, metres / METRES_A_DEGREE):
        _, y = projection.at(degrees, projection.lon_0)
        sheet.line(0, y, sheet.width, y, look="grid")
        names.append((5, y - 3, degrees_in_words(degrees, "N", "S")))
    for degrees in _steps(extent.west, extent.east, metres / projection.across):
        x, _ = projection.at(projection.lat_0, degrees)
        sheet.line(x, 0, x, sheet.height, look="grid")
        if 60 < x < sheet.width - 64:
            names.append((x + 3, 13, degrees_in_words(degrees, "E", "W")))
    return names


def _steps(low: float, high: float, step: float) -> list[float]:
    first = math.ceil(low / step)
    return [number * step for number in range(first, math.floor(high / step) + 1)]


def degrees_in_words(degrees: float, positive: str, negative: str) -> str:
    """`46.853° N`: to the thousandth, about 110 m."""
    return f"{abs(degrees):.3f}° {positive if degrees >= 0 else negative}"


def _length(run: Sequence[tuple[float, float]]) -> float:
    return math.dist(run[0], run[-1])
