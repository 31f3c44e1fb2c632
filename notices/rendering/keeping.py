"""Pieces of text that stay on one sheet as long as one sheet can hold them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from reportlab.platypus import Flowable
from reportlab.platypus.doctemplate import NullActionFlowable


class Together(Flowable):  # type: ignore[misc]
    """Pieces drawn under each other in one go; the library's own way copies the frame to try."""

    def __init__(self, pieces: Iterable[Flowable]) -> None:
        super().__init__()
        self._pieces = list(pieces)
        self._heights: list[float] = []

    def getSpaceBefore(self) -> float:  # noqa: N802 - the library's name
        """Return the space before its first piece."""
        return float(self._pieces[0].getSpaceBefore())

    def getSpaceAfter(self) -> float:  # noqa: N802
        """Return the space after its last piece."""
        return float(self._pieces[-1].getSpaceAfter())

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the size all take, with the spaces between them."""
        self._heights = [piece.wrapOn(self.canv, width, height)[1] for piece in self._pieces]
        self.width, self.height = width, sum(self._heights) + sum(self._spaces())
        return self.width, self.height

    def split(self, _width: float, _height: float) -> list[Any]:
        """Give the pieces one by one, but only where a fresh sheet did not hold them all."""
        if not hasattr(self, "_postponed"):
            return []
        return [NullActionFlowable(), *self._pieces]

    def draw(self) -> None:
        """Draw each piece under the one before."""
        at = self.height
        for piece, height, space in zip(self._pieces, self._heights, self._spaces(), strict=True):
            at -= space + height
            piece.drawOn(self.canv, 0, at, _sW=0)

    def _spaces(self) -> list[float]:
        """The space before each piece: the wider of the two that meet; none before the first."""
        pairs = zip(self._pieces, self._pieces[1:], strict=False)
        return [0.0, *(max(a.getSpaceAfter(), b.getSpaceBefore()) for a, b in pairs)]
