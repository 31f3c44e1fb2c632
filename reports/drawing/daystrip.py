"""A working day as a strip: thick is work, thin is driving, a gap is a gap."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from reports.drawing.svg import Sheet

_FROM_HOUR: Final = 7
_UNTIL_HOUR: Final = 17
_WIDTH: Final = 176.0


def day_strip(visits: Sequence[tuple[datetime, datetime]], *, says: str) -> str:
    """Visits (arrive, leave) of one day on a scale from 7 am to 5 pm, in the program's zone."""
    sheet = Sheet(width=_WIDTH, height=18, says=says)

    def x(moment: datetime) -> float:
        hours = moment.hour + moment.minute / 60 - _FROM_HOUR
        return min(max(hours / (_UNTIL_HOUR - _FROM_HOUR), 0), 1) * _WIDTH

    for hour in range(_UNTIL_HOUR - _FROM_HOUR + 1):
        at = hour / (_UNTIL_HOUR - _FROM_HOUR) * (_WIDTH - 1) + 0.5
        sheet.line(at, 13, at, 17 if hour % 2 else 15, look="edge w1")
    sheet.line(0, 13, _WIDTH, 13, look="edge w1")
    if visits:
        sheet.line(x(visits[0][0]) - 6, 8, x(visits[-1][1]) + 6, 8, look="ink w1")
    for arrives, leaves in visits:
        sheet.rect(x(arrives), 3, max(x(leaves) - x(arrives), 2), 9, look="solid")
    return sheet.markup()
