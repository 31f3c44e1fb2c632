"""What a map is drawn on, a screen's SVG or a sheet of paper: shapes by look, in px, y downward."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol


class Surface(Protocol):
    """Shapes in the order drawn; a look is what `drawings.css` calls it."""

    width: float
    height: float

    def wide(self, words: str) -> float:
        """How wide words stand, in px; for keeping labels apart."""

    def line(self, x1: float, y1: float, x2: float, y2: float, *, look: str) -> None:
        """A straight stroke."""

    def polyline(self, points: Sequence[tuple[float, float]], *, look: str) -> None:
        """Strokes from point to point."""

    def polygon(self, points: Sequence[tuple[float, float]], *, look: str) -> None:
        """An area within its corners."""

    def rect(self, x: float, y: float, width: float, height: float, *, look: str) -> None:
        """A box."""

    def dot(self, x: float, y: float, radius: float, *, look: str) -> None:
        """A circle."""

    def text(self, x: float, y: float, words: str, *, look: str = "", turned: float = 0.0) -> None:
        """Words on a baseline, turned clockwise by so many degrees about their anchor."""

    def open_group(self, key: str) -> None:
        """What is drawn from here on belongs to what a page knows by a key."""

    def close_group(self) -> None:
        """End the group."""
