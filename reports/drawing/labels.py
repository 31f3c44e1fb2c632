"""Words on a drawing kept apart: what is taken, and names along streets where there is room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from reports.drawing.projection import Spot
from reports.drawing.surface import Surface

HIGH: Final = 16.0
_BEADS: Final = 13.0
_BEND: Final = 4.0
_SHARES: Final = (0.5, 0.3, 0.7, 0.18, 0.82)

Box = tuple[float, float, float, float]


class Taken:
    """The boxes of a sheet on which words or marks stand already."""

    def __init__(self, sheet: Surface) -> None:
        """Nothing is taken yet."""
        self._sheet = sheet
        self._boxes: list[Box] = []

    def add(self, *boxes: Box) -> None:
        """Keep these free of words."""
        self._boxes += boxes

    def line(self, start: Spot, end: Spot) -> None:
        """Keep a stroke free of words."""
        length = math.dist(start, end)
        if length:
            ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
            x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
            self.add(*_beads(x, y, ux, uy, length))

    def is_free(self, box: Box) -> bool:
        """Whether a box lies on the sheet and touches nothing."""
        left, top, right, bottom = box
        fits = left > 2 and right < self._sheet.width - 2
        fits = fits and top > 2 and bottom < self._sheet.height - 2
        return fits and not any(_touch(box, other) for other in self._boxes)

    def beside(self, x: float, y: float, words: str) -> None:
        """Words on paper beside a spot, at the first of eight places that touches nothing."""
        wide = self._sheet.wide(words) + 8
        beside, half = 15.0, HIGH / 2
        places = (
            (x + beside, y - half),
            (x - beside - wide, y - half),
            (x - wide / 2, y - beside - HIGH),
            (x - wide / 2, y + beside),
            (x + 8, y + beside),
            (x - wide - 8, y - beside - HIGH),
            (x + 8, y - beside - HIGH),
            (x - wide - 8, y + beside),
        )
        for left, top in places:
            box = (left, top, left + wide, top + HIGH)
            if self.is_free(box):
                self.add(box)
                self._sheet.rect(left, top, wide, HIGH, look="label-ground")
                self._sheet.text(left + 4, top + 12, words)
                return

    def along(self, run: Sequence[Spot], words: str, *, look: str) -> bool:
        """Words along the straightest long piece of a line; whether there was room."""
        start, end = _longest(run)
        length, wide = math.dist(start, end), self._sheet.wide(words)
        if length < wide + 12:
            return False
        ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
        ux, uy = (-ux, -uy) if ux < -1e-9 or (abs(ux) <= 1e-9 and uy > 0) else (ux, uy)
        for share in _SHARES:
            at = min(max(share * length, wide / 2 + 4), length - wide / 2 - 4) / length
            x = start[0] + (end[0] - start[0]) * at
            y = start[1] + (end[1] - start[1]) * at
            beads = _beads(x, y, ux, uy, wide)
            if all(self.is_free(bead) for bead in beads):
                self.add(*beads)
                turned = math.degrees(math.atan2(uy, ux))
                # The middle of small letters lies 4 px above their base line.
                self._sheet.text(x - 4 * uy, y + 4 * ux, words, look=look, turned=turned)
                return True
        return False


def _longest(run: Sequence[Spot]) -> tuple[Spot, Spot]:
    """The ends of the longest course that hardly bends: no point more than 4 px off its chord."""
    found = []
    last = 1
    for first in range(len(run) - 1):
        last = max(last, first + 1)
        while last + 1 < len(run) and _is_straight(run[first : last + 2]):
            last += 1
        found.append((run[first], run[last]))
    return max(found, key=lambda ends: math.dist(*ends))


def _is_straight(course: Sequence[Spot]) -> bool:
    (x1, y1), *between, (x2, y2) = course
    length = math.hypot(x2 - x1, y2 - y1)
    if not length:
        return False
    away = (abs((x - x1) * (y2 - y1) - (y - y1) * (x2 - x1)) / length for x, y in between)
    return all(one <= _BEND for one in away)


def _beads(x: float, y: float, ux: float, uy: float, wide: float) -> list[Box]:
    """Squares strung along turned words, which together hold them."""
    count = max(math.ceil(wide / _BEADS), 1)
    half = _BEADS / 2
    steps = [((number + 0.5) / count - 0.5) * wide for number in range(count)]
    spots = [(x + step * ux, y + step * uy) for step in steps]
    return [(sx - half, sy - half, sx + half, sy + half) for sx, sy in spots]


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
