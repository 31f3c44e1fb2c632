"""The QR of the owner's link, drawn as one 1-bit mask."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import segno
from reportlab.platypus import Flowable

from notices.rendering.marks import Element, drawn_as

MODULE_PT = 2.4
QUIET_MODULES = 4


@dataclass(frozen=True, slots=True)
class Matrix:
    """A QR symbol: modules a side, and its rows as bits, dark = 0 as an image mask paints."""

    size: int
    bits: bytes


def matrix_of(link: str) -> Matrix:
    """Return the symbol for a link, error level M.

    Mask 3 is fixed: choosing the best of eight costs five times as much and
    scanners read any.
    """
    symbol = segno.make_qr(link, error="m", mask=3, boost_error=False)
    rows = [bytes(row) for row in symbol.matrix]
    return Matrix(size=len(rows), bits=b"".join(_packed(row) for row in rows))


class LinkCode(Flowable):  # type: ignore[misc]
    """The QR as a flowable; its quiet zone is the white around it."""

    def __init__(self, link: str, *, element: Element | None = None) -> None:
        super().__init__()
        self._element = element
        self._matrix = matrix_of(link)
        self.width = self.height = self._matrix.size * MODULE_PT

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the size it takes, in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Paint the mask in black, its first row on top."""
        canvas: Any = self.canv
        side, size = self.width, self._matrix.size
        if self._element is not None:
            left, bottom = canvas.absolutePosition(0, 0)
            self._element.box = (left, bottom, left + side, bottom + side)
        with drawn_as(canvas, self._element):
            canvas.saveState()
            canvas.setFillGray(0)
            canvas._code.append(  # inline images have no public way in
                f"q {side:.2f} 0 0 {side:.2f} 0 0 cm BI /W {size} /H {size} /BPC 1 /IM true "
                f"/F /AHx ID {self._matrix.bits.hex()}> EI Q"
            )
            canvas.restoreState()


def _packed(row: bytes) -> bytes:
    bits = "".join("0" if dark else "1" for dark in row).ljust((len(row) + 7) // 8 * 8, "1")
    return int(bits, 2).to_bytes(len(bits) // 8, "big")
