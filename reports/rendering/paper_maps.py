"""A map of a drawn ground on paper: the same pieces as on the page, drawn by ReportLab.

A px of the page is 0.68 pt here, so that words of 12.5 px stand at 8.5 pt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from reportlab.lib.colors import Color, HexColor

from notices.domain.cleaning import clean
from notices.rendering import faces
from notices.rendering.paragraphs import INK

POINTS_A_PX: Final = 0.68

_PAPER: Final = HexColor("#ffffff")
_LAND: Final = HexColor("#eef2ef")
_SOFT: Final = HexColor("#dbe4e6")
_EDGE: Final = HexColor("#74858d")
_NAMES: Final = HexColor("#586972")
_SHORE: Final = HexColor("#8fb3c4")
_WATER: Final = HexColor("#d9e8f0")
_WATER_NAME: Final = HexColor("#0a5a84")


@dataclass(frozen=True, kw_only=True)
class Look:
    """How a shape is filled and stroked; widths and dashes in px."""

    fill: Color | None = None
    stroke: Color | None = None
    width: float = 1.0
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Face:
    """How words stand: their size in px, and which part of them stands at the anchor."""

    face: str = faces.SANS
    size: float = 12.5
    colour: Color = INK
    anchor: str = "start"


# As drawings.css has them in light, on white paper.
_LOOKS: Final = {
    "land": Look(fill=_LAND),
    "frame": Look(stroke=INK),
    "grid": Look(stroke=_SOFT),
    "water": Look(fill=_WATER, stroke=_SHORE, width=1.2),
    "river": Look(stroke=_SHORE, width=1.6),
    "shore": Look(stroke=_SHORE, width=1.6),
    "county": Look(stroke=_EDGE, width=1.2, dash=(7, 4, 1.5, 4)),
    "street-edge of-main": Look(stroke=_SOFT, width=8.5),
    "street of-main": Look(stroke=_PAPER, width=7),
    "street-edge of-road": Look(stroke=_SOFT, width=7),
    "street of-road": Look(stroke=_PAPER, width=5.5),
    "street-edge of-street": Look(stroke=_SOFT, width=5.5),
    "street of-street": Look(stroke=_PAPER, width=4),
    "street-edge of-lane": Look(stroke=_SOFT, width=3),
    "street of-lane": Look(stroke=_PAPER, width=2),
    "leg": Look(stroke=INK, width=2),
    "ink w2 scale": Look(stroke=INK, width=2),
    "solid": Look(fill=INK),
    "hollow": Look(fill=_PAPER, stroke=INK, width=1.1),
    "label-ground": Look(fill=_PAPER),
}
_FACES: Final = {
    "": Face(),
    "on-land end": Face(anchor="end"),
    "serif bold middle": Face(face=faces.SERIF_BOLD, anchor="middle"),
    "in-disc": Face(face=faces.SANS_BOLD, colour=_PAPER, anchor="middle"),
    "grid-name": Face(size=11.5, colour=_NAMES),
    "road-name": Face(colour=_NAMES, anchor="middle"),
    "water-name": Face(face=faces.SERIF_ITALIC, size=13, colour=_WATER_NAME, anchor="middle"),
}


class PaperSurface:
    """A canvas as the surface a map is drawn on; its lower left corner is where the canvas is."""

    def __init__(self, canvas: Any, *, width: float, height: float) -> None:
        """Width and height in px; what reaches beyond them is cut off."""
        self.width, self.height = width, height
        self._canvas = canvas
        canvas.scale(POINTS_A_PX, POINTS_A_PX)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        whole = canvas.beginPath()
        whole.rect(0, 0, width, height)
        canvas.clipPath(whole, stroke=0, fill=0)

    def wide(self, words: str) -> float:
        """How wide words stand, in px, as the face has them."""
        return faces.width(clean(words), face=faces.SANS, size=12.5)

    def line(self, x1: float, y1: float, x2: float, y2: float, *, look: str) -> None:
        """A straight stroke."""
        self.polyline(((x1, y1), (x2, y2)), look=look)

    def polyline(self, points: Sequence[tuple[float, float]], *, look: str) -> None:
        """Strokes from point to point."""
        if len(points) > 1:
            self._drawn(self._path(points), look)

    def polygon(self, points: Sequence[tuple[float, float]], *, look: str) -> None:
        """An area within its corners; nothing where there are none."""
        if points:
            path = self._path(points)
            path.close()
            self._drawn(path, look)

    def rect(self, x: float, y: float, width: float, height: float, *, look: str) -> None:
        """A box."""
        path = self._canvas.beginPath()
        path.rect(x, self.height - y - height, width, height)
        self._drawn(path, look)

    def dot(self, x: float, y: float, radius: float, *, look: str) -> None:
        """A circle."""
        path = self._canvas.beginPath()
        path.circle(x, self.height - y, radius)
        self._drawn(path, look)

    def text(self, x: float, y: float, words: str, *, look: str = "", turned: float = 0.0) -> None:
        """Words on a baseline, turned clockwise by so many degrees about their anchor."""
        canvas, face = self._canvas, _FACES[look]
        said = clean(words)
        wide = faces.width(said, face=face.face, size=face.size)
        start = {"start": 0.0, "middle": -wide / 2, "end": -wide}[face.anchor]
        canvas.saveState()
        canvas.translate(x, self.height - y)
        canvas.rotate(-turned)
        canvas.setFillColor(face.colour)
        canvas.setFont(face.face, face.size)
        canvas.drawString(start, 0, said)
        canvas.restoreState()

    def open_group(self, key: str) -> None:
        """Paper has nobody to press it: nothing is kept of a group."""

    def close_group(self) -> None:
        """As `open_group`."""

    def _path(self, points: Sequence[tuple[float, float]]) -> Any:
        path = self._canvas.beginPath()
        (x, y), *rest = points
        path.moveTo(x, self.height - y)
        for x, y in rest:
            path.lineTo(x, self.height - y)
        return path

    def _drawn(self, path: Any, look: str) -> None:
        canvas, drawn = self._canvas, _LOOKS[look]
        if drawn.fill is not None:
            canvas.setFillColor(drawn.fill)
        if drawn.stroke is not None:
            canvas.setStrokeColor(drawn.stroke)
            canvas.setLineWidth(drawn.width)
            canvas.setDash(list(drawn.dash))
        canvas.drawPath(path, stroke=drawn.stroke is not None, fill=drawn.fill is not None)
