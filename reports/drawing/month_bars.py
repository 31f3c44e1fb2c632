"""Tested in time, month by month: solid for what was in time, hollow for a month not over."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from reports.domain.ratios import COLORADO_ASKS, Month
from reports.drawing.svg import MONTHS, Sheet

_TOP: Final = 26.0
_BARS: Final = 120.0
_FOOT: Final = 24.0
_LEFT: Final = 44.0


def month_bars(months: Sequence[Month], *, width: float, says: str) -> str:
    """Bars of 0 to 100 per cent as SVG; the share stands above each month that is over."""
    narrow = width < 600
    sheet = Sheet(width=width, height=_TOP + _BARS + _FOOT, says=says)
    base = _TOP + _BARS
    slot = (width - _LEFT - 2) / max(len(months), 1)
    for percent in (0, 50, 100):
        y = base - percent * _BARS / 100
        if percent:
            sheet.line(_LEFT, y, width, y, look="hair")
        sheet.text(_LEFT - 6, y + 4, f"{percent} %", look="second end")
    for number, month in enumerate(months):
        _bar(sheet, month, x=_LEFT + number * slot, slot=slot, base=base, narrow=narrow)
    asked = base - float(COLORADO_ASKS) * _BARS
    sheet.line(_LEFT, asked, width, asked, look="dashed")
    sheet.line(_LEFT, base, width, base, look="ink w1")
    return sheet.markup()


def _bar(sheet: Sheet, month: Month, *, x: float, slot: float, base: float, narrow: bool) -> None:
    name = MONTHS[month.first.month - 1]
    sheet.text(x + slot / 2, base + 17, name[:1] if narrow else name, look="serif middle")
    share = month.ratio.share
    if share is None:
        return
    tall = float(share) * _BARS
    wide = slot * 0.6
    look = "solid-edge" if month.is_over else "hollow"
    sheet.rect(x + (slot - wide) / 2, base - tall, wide, tall, look=look)
    if month.is_over and not narrow:
        sheet.text(x + slot / 2, base - tall - 5, month.ratio.percent, look="second middle")
