"""One dot per obligation on a rung, piled four high; hollow is owed a letter today."""

from __future__ import annotations

from math import ceil
from typing import Final

from reports.drawing.svg import Sheet

PITCH: Final = 5.6
HIGH: Final = 4
_RADIUS: Final = 2.1
_SCALES: Final = (1, 5, 10, 50, 100, 500, 1000, 5000)


def obligations_a_dot(most: int, *, room: int) -> int:
    """How many obligations one dot stands for, so that the fullest rung keeps to `room` dots."""
    return next((scale for scale in _SCALES if ceil(most / scale) <= room), _SCALES[-1])


def dots(*, there: int, owed: int, a_dot: int, width: float, is_above_due: bool) -> str:
    """The dots of one rung: `there` on it, of whom `owed` are owed a letter today."""
    total = ceil(there / a_dot)
    hollow = min(ceil(owed / a_dot), total)
    sheet = Sheet(width=width, height=HIGH * PITCH + 2, says=f"{there:,} on it, {owed:,} owed")
    tone = " above" if is_above_due else ""
    for number in range(total):
        x = _RADIUS + 1 + (number // HIGH) * PITCH
        y = sheet.height - _RADIUS - 1 - (number % HIGH) * PITCH
        look = f"dot owed{tone}" if number >= total - hollow else f"dot{tone}"
        sheet.dot(x, y, _RADIUS, look=look)
    return sheet.markup()
