"""One reading over the years against its limit: dots as found, strokes to what repairs left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from reports.drawing.svg import Sheet, text_width

_LEFT: Final = 40.0
_TOP: Final = 16.0
_PLOT: Final = 104.0
_FOOT: Final = 24.0
_DAYS_A_YEAR: Final = 365.25


@dataclass(frozen=True, kw_only=True)
class TrendPoint:
    """A test: the figure as found, and as left where a repair changed it."""

    on: date
    found: float | None
    left: float | None
    is_below: bool


@dataclass(frozen=True, kw_only=True)
class DrawnTrend:
    """All that is drawn of one reading; the line runs from its first day to the next test."""

    points: tuple[TrendPoint, ...]
    limit: float
    limit_words: str
    line: tuple[tuple[date, float], tuple[date, float]] | None
    says: str


def trend_drawing(trend: DrawnTrend, *, width: float) -> str:
    """The drawing as SVG; the table beside it holds every figure."""
    sheet = Sheet(width=width, height=_TOP + _PLOT + _FOOT, says=trend.says)
    scale = _Scale.of(trend, width=width)
    _years(sheet, scale, width=width)
    y = scale.y(trend.limit)
    sheet.line(_LEFT, y, width, y, look="dashed")
    _limit_words(sheet, trend, scale)
    if trend.line:
        (a, from_value), (b, to_value) = trend.line
        sheet.line(scale.x(a), scale.y(from_value), scale.x(b), scale.y(to_value), look="edge w2")
        sheet.dot(scale.x(b), scale.y(to_value), 4.2, look="hollow")
    for point in trend.points:
        _point(sheet, point, scale)
    return sheet.markup()


def _limit_words(sheet: Sheet, trend: DrawnTrend, scale: _Scale) -> None:
    """The limit in words under its line, at the end where less is drawn near it."""
    y, wide = scale.y(trend.limit) + 9, text_width(trend.limit_words)
    figures = [(one.on, v) for one in trend.points for v in (one.found, one.left) if v is not None]
    drawn = [(scale.x(on), scale.y(value)) for on, value in [*figures, *(trend.line or ())]]

    def room(x: float) -> float:
        near = [abs(at_y - y) for at_x, at_y in drawn if x - 8 < at_x < x + wide + 8]
        return min(near, default=scale.width)

    left, right = _LEFT + 4, scale.width - wide
    sheet.text(
        left if room(left) >= room(right) else right, y + 5, trend.limit_words, look="worked"
    )


@dataclass(frozen=True, kw_only=True)
class _Scale:
    low: float
    high: float
    from_on: date
    days: int
    width: float

    @classmethod
    def of(cls, trend: DrawnTrend, *, width: float) -> _Scale:
        figures = [v for one in trend.points for v in (one.found, one.left) if v is not None]
        if trend.line:
            figures += [value for _, value in trend.line]
        low, high = min([*figures, trend.limit]), max([*figures, trend.limit])
        room = 0.15 * max(high - low, 0.5)
        days = [one.on for one in trend.points] + [on for on, _ in trend.line or ()]
        first, last = min(days), max(days)
        if (last - first).days < _DAYS_A_YEAR:
            first, last = first - timedelta(days=183), last + timedelta(days=183)
        return cls(
            low=low - 1.6 * room,
            high=high + room,
            from_on=first,
            days=max((last - first).days, 1),
            width=width,
        )

    def x(self, on: date) -> float:
        """Where a day stands."""
        share = (on - self.from_on).days / self.days
        return _LEFT + 12 + share * (self.width - _LEFT - 24)

    def y(self, value: float) -> float:
        """Where a figure stands."""
        return _TOP + _PLOT - (value - self.low) / (self.high - self.low) * _PLOT


def _years(sheet: Sheet, scale: _Scale, *, width: float) -> None:
    base = _TOP + _PLOT
    sheet.line(_LEFT, base, width, base, look="ink w1")
    last = scale.from_on + timedelta(days=scale.days)
    written = _LEFT - 40
    for year in range(scale.from_on.year, last.year + 1):
        on = date(year, 1, 1)
        if scale.from_on <= on <= last:
            x = scale.x(on)
            sheet.line(x, _TOP, x, base, look="dotted")
            if x - written > 36:
                sheet.text(x, base + 17, str(year), look="middle")
                written = x
    for value in _marks(scale):
        sheet.text(_LEFT - 6, scale.y(value) + 4, f"{value:g}", look="second end")


def _marks(scale: _Scale) -> list[float]:
    """Two to five round figures up the side."""
    spread = scale.high - scale.low
    step = next((s for s in (0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if spread / s <= 5), 100.0)
    first = int(scale.low // step) + 1
    return [n * step for n in range(first, first + 6) if n * step < scale.high]


def _point(sheet: Sheet, point: TrendPoint, scale: _Scale) -> None:
    x = scale.x(point.on)
    if point.left is not None and point.left != point.found:
        start = scale.y(point.found) if point.found is not None else _TOP + _PLOT
        sheet.line(x, start, x, scale.y(point.left), look="ink w1")
        sheet.dot(x, scale.y(point.left), 4.2, look="solid")
    y = scale.y(point.found) if point.found is not None else _TOP + _PLOT - 6
    if point.is_below:
        sheet.saltire(x, y, 4.6)
    elif point.found is not None:
        sheet.dot(x, y, 4.2, look="solid")
