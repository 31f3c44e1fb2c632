"""The paper and envelope of an office's letters in millimetres, and what of a sheet shows through.

Kept as words, `a4 220x110 90x45 20 15`: the sheet; the envelope; its window; how far the window
stands from the left and from the bottom. Measure the envelopes the office buys.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum


class SheetSize(StrEnum):
    """The sheet a letter is printed on."""

    LETTER = "letter"
    A4 = "a4"


SHEETS: dict[SheetSize, tuple[float, float]] = {
    SheetSize.LETTER: (215.9, 279.4),
    SheetSize.A4: (210.0, 297.0),
}
"""Width and height: ANSI/ASME Y14.1 size A, and ISO 216."""

USUAL = {
    SheetSize.LETTER: "241.3x104.8 114.3x28.6 22.2 12.7",
    SheetSize.A4: "220x110 90x45 20 15",
}
"""A #10 envelope with one window, and ISO 269's DL with the window of DIN 680 (from memory)."""

HEAD_MM = 24.5
"""Down to here the letterhead and its rules stand: the window must lie below, however it slips."""

LEAST_WIDTH, LEAST_HEIGHT = 62.0, 16.0
"""Of what is always seen: the least that takes an address of four lines."""

_FIGURE = r"(\d+(?:\.\d+)?)"
_PAIR = rf"{_FIGURE}\s*[x\u00d7]\s*{_FIGURE}"
_WORDS = re.compile(rf"{_PAIR} {_PAIR} {_FIGURE} {_FIGURE}")


class EnvelopeRefusedError(ValueError):
    """The figures make no window for an address; the message says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """A sheet folded in three and its window envelope, in millimetres."""

    sheet: SheetSize
    width: float
    height: float
    window_width: float
    window_height: float
    from_left: float
    from_bottom: float

    @property
    def fold(self) -> float:
        """How high the folded sheet is."""
        return SHEETS[self.sheet][1] / 3

    @property
    def slips_sideways(self) -> float:
        """How far the sheet can slide to the right."""
        return self.width - SHEETS[self.sheet][0]

    @property
    def slips_up(self) -> float:
        """How far it can slide up."""
        return self.height - self.fold

    @property
    def sure(self) -> tuple[float, float, float, float]:
        """Left, right, top, bottom of what is always seen, on the sheet, y from its top edge."""
        bottom = self.fold - self.from_bottom
        right = self.from_left + self.window_width - self.slips_sideways
        return self.from_left, right, bottom - self.window_height + self.slips_up, bottom

    @property
    def possible(self) -> tuple[float, float, float, float]:
        """The same of what may be seen: nothing but the address may stand there."""
        bottom = self.fold - self.from_bottom
        left = max(0.0, self.from_left - self.slips_sideways)
        right = self.from_left + self.window_width
        return left, right, bottom - self.window_height, bottom + self.slips_up

    def words(self) -> str:
        """Return it as it is kept."""
        figures = (
            f"{self.width:g}x{self.height:g} {self.window_width:g}x{self.window_height:g} "
            f"{self.from_left:g} {self.from_bottom:g}"
        )
        return f"{self.sheet} {figures}"


def usual_envelope(sheet: SheetSize) -> Envelope:
    """Return the usual window envelope of a sheet."""
    return read_envelope(sheet, USUAL[sheet])


def read_envelope(sheet: SheetSize, told: str) -> Envelope:
    """Return what six figures say: `220x110 90x45 20 15`. Raises EnvelopeRefusedError."""
    found = _WORDS.fullmatch(" ".join(told.replace(",", " ").replace(";", " ").split()))
    if found is None:
        raise EnvelopeRefusedError(
            f"\u201c{told[:60]}\u201d is no envelope. Write six figures in millimetres, as "
            f"{USUAL[sheet]}: envelope, window, from its left edge, from its bottom edge."
        )
    figures = [float(figure) for figure in found.groups()]
    envelope = Envelope(
        sheet=sheet, width=figures[0], height=figures[1], window_width=figures[2],
        window_height=figures[3], from_left=figures[4], from_bottom=figures[5],
    )  # fmt: skip
    if why := _why_not(envelope):
        raise EnvelopeRefusedError(why)
    return envelope


def envelope_of(words: str) -> Envelope:
    """Return what `Envelope.words` wrote; empty is US Letter in a #10. Raises the same."""
    sheet, _, told = words.partition(" ")
    if not words:
        return usual_envelope(SheetSize.LETTER)
    if sheet not in set(SheetSize):
        raise EnvelopeRefusedError(
            f"\u201c{sheet[:20]}\u201d is no sheet that letters are drawn on."
        )
    return read_envelope(SheetSize(sheet), told)


def _why_not(one: Envelope) -> str:
    wide = SHEETS[one.sheet][0]
    if one.slips_sideways < 0 or one.slips_up < 0:
        return (
            f"The sheet folded in three is {wide:g} x {one.fold:.0f} mm and does not go into an "
            f"envelope of {one.width:g} x {one.height:g} mm."
        )
    left, right, top, bottom = one.sure
    if right - left < LEAST_WIDTH or bottom - top < LEAST_HEIGHT:
        return (
            f"As the sheet slips, only {max(0, right - left):.0f} x {max(0, bottom - top):.0f} mm "
            f"are always seen; an address needs {LEAST_WIDTH:g} x {LEAST_HEIGHT:g}. Take a tighter "
            "envelope or a larger window."
        )
    if one.possible[2] < HEAD_MM:
        return "The window could show the letterhead. It must stand lower on the envelope."
    return ""
