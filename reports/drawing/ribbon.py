"""The year by weeks: met stands solid, open past its day is hatched on top, to come is outlined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from reports.drawing.svg import MONTHS, Sheet

_TOP: Final = 26.0
_BARS: Final = 136.0
_FOOT: Final = 24.0
_BRACKET: Final = 26.0


@dataclass(frozen=True, kw_only=True)
class Week:
    """Tests owed whose due day falls in the week that begins on `starts_on`."""

    starts_on: date
    met: int
    open_past: int
    to_come: int

    @property
    def all_owed(self) -> int:
        """Everything owed that week."""
        return self.met + self.open_past + self.to_come


@dataclass(frozen=True, kw_only=True)
class Season:
    """A stretch of the year with a name, e.g. when irrigation is in use."""

    from_on: date
    until_on: date
    words: str


_SMALL: Final = (3, 6, 9, 12, 15, 21)
_TOPS: Final = (30, 45, 60, 75, 90, 120, 150, 180, 240)
"""What a scale ends with, each a number that divides in three."""


def round_top(most: int) -> int:
    """The top of the scale: the next of 3, 6, 9, 12, 15, 21, 30, 45, 60 … that holds `most`."""
    if most <= _SMALL[-1]:
        return next(top for top in _SMALL if top >= most)
    step = 1
    while True:
        for factor in _TOPS:
            if factor * step >= most:
                return factor * step
        step *= 10


def ribbon(
    weeks: Sequence[Week],
    *,
    today: date,
    width: float,
    says: str,
    capacity: int | None = None,
    season: Season | None = None,
) -> str:
    """The ribbon as SVG; three grid lines at most, today a line with its word."""
    narrow = width < 600
    left = 26.0
    height = _TOP + _BARS + _FOOT + (_BRACKET if season else 0)
    sheet = Sheet(width=width, height=height, says=says)
    sheet.hatch("past-narrow" if narrow else "past")
    most = max([week.all_owed for week in weeks] + [capacity or 0, 1])
    top = round_top(most)
    slot = (width - left - 2) / max(len(weeks), 1)
    base = _TOP + _BARS
    _grid(sheet, top=top, left=left, base=base)
    for number, week in enumerate(weeks):
        x = left + number * slot + slot * 0.16
        _bar(sheet, week, x=x, width=slot * 0.68, base=base, scale=_BARS / top, narrow=narrow)
    sheet.line(left, base, width, base, look="ink w1")
    _months(sheet, weeks, left=left, slot=slot, base=base, narrow=narrow)
    if capacity:
        y = base - capacity * _BARS / top
        sheet.line(left, y, width, y, look="dashed")
        words = f"{capacity} a week" + ("" if narrow else ": what the crews can do")
        # Clear of the word "today" where the ribbon begins with it.
        is_taken = _place(today, weeks, left=left, slot=slot) < left + 200
        at = (width - 4, "worked end") if is_taken else (left + 4, "worked")
        sheet.text(at[0], y - 5, words, look=f"{at[1]} over-bars")
    if season:
        _season(sheet, season, weeks=weeks, left=left, slot=slot, y=base + _FOOT + 2)
    _today(sheet, weeks, today=today, left=left, slot=slot, base=base)
    return sheet.markup()


def _grid(sheet: Sheet, *, top: int, left: float, base: float) -> None:
    for third in range(4):
        y = base - third * _BARS / 3
        if third:
            sheet.line(left, y, sheet.width, y, look="hair")
        sheet.text(left - 6, y + 4, f"{top * third // 3:,}", look="second end")


def _bar(
    sheet: Sheet, week: Week, *, x: float, width: float, base: float, scale: float, narrow: bool
) -> None:
    y = base - week.met * scale
    if week.met:
        sheet.rect(x, y, width, week.met * scale, look="solid-edge")
    if week.open_past:
        tall = week.open_past * scale
        y -= tall
        pattern = "past-narrow" if narrow else "past"
        sheet.rect(x, y, width, tall, look="hatched", fill=pattern)
    if week.to_come:
        tall = week.to_come * scale
        sheet.rect(x + 0.5, y - tall, width - 1, tall, look="hollow")


def _months(
    sheet: Sheet,
    weeks: Sequence[Week],
    *,
    left: float,
    slot: float,
    base: float,
    narrow: bool,
) -> None:
    if not weeks:
        return
    first = weeks[0].starts_on
    day = date(first.year, first.month, 1)
    for _ in range(14):
        x = left + max((day - first).days, 0) / 7 * slot
        if x < sheet.width - slot and day >= first - timedelta(days=7):
            sheet.line(x, base, x, base + 6, look="ink w1")
            name = MONTHS[day.month - 1]
            sheet.text(x + 3, base + 17, name[:1] if narrow else name, look="serif")
        day = (day + timedelta(days=32)).replace(day=1)


def _place(day: date, weeks: Sequence[Week], *, left: float, slot: float) -> float:
    return left + (day - weeks[0].starts_on).days / 7 * slot if weeks else left


def _season(
    sheet: Sheet, season: Season, *, weeks: Sequence[Week], left: float, slot: float, y: float
) -> None:
    x1 = max(_place(season.from_on, weeks, left=left, slot=slot), left)
    x2 = min(_place(season.until_on, weeks, left=left, slot=slot), sheet.width)
    sheet.path(f"M{x1:.1f} {y - 4:.1f}v8m0-4H{x2:.1f}m0-4v8", look="edge w1")
    sheet.text((x1 + x2) / 2, y + 17, season.words, look="worked middle")


def _today(
    sheet: Sheet, weeks: Sequence[Week], *, today: date, left: float, slot: float, base: float
) -> None:
    if not weeks or not weeks[0].starts_on <= today <= weeks[-1].starts_on + timedelta(days=6):
        return
    x = _place(today, weeks, left=left, slot=slot)
    sheet.line(x, 18, x, base + 6, look="ink w2")
    label = f"today, week {today.isocalendar().week}"
    near_end = x > sheet.width - 50
    near_start = x < left + 50
    look = "bold end" if near_end else ("bold" if near_start else "bold middle")
    sheet.text(x, 12, label, look=look)
