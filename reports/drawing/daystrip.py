"""A working day as a strip: thick is work, thin is driving, a gap is a gap."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Final

from reports.drawing.svg import Sheet

_FROM_HOUR: Final = 7
_UNTIL_HOUR: Final = 17
_WIDTH: Final = 176.0


def day_strip(
    visits: Sequence[tuple[datetime, datetime]],
    *,
    says: str,
    lunch: tuple[datetime, datetime] | None = None,
    promised: Collection[datetime] = (),
) -> str:
    """Visits (arrive, leave) of one day on a scale from 7 am to 5 pm, in the program's zone.

    Lunch is a gap in the line of driving; a notch stands over each promised arrival.
    """
    sheet = Sheet(width=_WIDTH, height=18, says=says)

    def x(moment: datetime) -> float:
        hours = moment.hour + moment.minute / 60 - _FROM_HOUR
        return min(max(hours / (_UNTIL_HOUR - _FROM_HOUR), 0), 1) * _WIDTH

    for hour in range(_UNTIL_HOUR - _FROM_HOUR + 1):
        at = hour / (_UNTIL_HOUR - _FROM_HOUR) * (_WIDTH - 1) + 0.5
        sheet.line(at, 13, at, 17 if hour % 2 else 15, look="edge w1")
    sheet.line(0, 13, _WIDTH, 13, look="edge w1")
    if visits:
        first, last = x(visits[0][0]) - 6, x(visits[-1][1]) + 6
        gap = (x(lunch[0]), x(lunch[1])) if lunch else (last, last)
        for start, end in ((first, min(gap[0], last)), (min(max(gap[1], first), last), last)):
            if end > start:
                sheet.line(start, 8, end, 8, look="ink w1")
    for arrives, leaves in visits:
        sheet.rect(x(arrives), 3, max(x(leaves) - x(arrives), 2), 9, look="solid")
        if arrives in promised:
            sheet.line(x(arrives) + 1, 0, x(arrives) + 1, 3, look="ink w2")
    return sheet.markup()
