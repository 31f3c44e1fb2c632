"""A sheet to draw on: shapes in the order drawn, every text escaped, numbers short."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

MONTHS: Final = (
    *("Jan", "Feb", "Mar", "Apr", "May", "Jun"),
    *("Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
)
_TEXT_WIDTH: Final = 5.8  # px a character of Source Sans 3 at 12.5 px takes, on the whole


def figure(value: float) -> str:
    """A coordinate with at most one decimal: 12.5, 12."""
    return f"{value:.1f}".removesuffix(".0")


def printable(words: str) -> str:
    """The words as XML may hold them: control signs and stray surrogates become a space."""
    return "".join(sign if sign.isprintable() or sign == " " else " " for sign in words)


def text_width(words: str) -> float:
    """About how wide the words stand at 12.5 px; for keeping labels apart."""
    return len(words) * _TEXT_WIDTH


class Sheet:
    """An SVG under way; `markup()` gives it whole, with one sentence for those who cannot see."""

    def __init__(self, *, width: float, height: float, says: str) -> None:
        self.width = width
        self.height = height
        self._says = says
        self._parts: list[str] = []

    def wide(self, words: str) -> float:
        """About how wide words of 12.5 px stand: a browser sets them."""
        return text_width(words)

    def line(self, x1: float, y1: float, x2: float, y2: float, *, look: str) -> None:
        """A straight stroke."""
        x, y, to_x, to_y = (figure(value) for value in (x1, y1, x2, y2))
        self._parts.append(f'<path class="{look}" d="M{x} {y}L{to_x} {to_y}"/>')

    def path(self, d: str, *, look: str) -> None:
        """Any stroke or area, given as path data of numbers only."""
        self._parts.append(f'<path class="{look}" d="{escape(d)}"/>')

    def polyline(self, points: Sequence[tuple[float, float]], *, look: str) -> None:
        """Strokes from point to point."""
        if len(points) > 1:
            self.path("M" + "L".join(f"{figure(x)} {figure(y)}" for x, y in points), look=look)

    def polygon(self, points: Sequence[tuple[float, float]], *, look: str) -> None:
        """An area within its corners; nothing where there are none."""
        if points:
            corners = "L".join(f"{figure(x)} {figure(y)}" for x, y in points)
            self.path(f"M{corners}z", look=look)

    def rect(
        self, x: float, y: float, width: float, height: float, *, look: str, fill: str = ""
    ) -> None:
        """A box; `fill` names a pattern of this sheet."""
        filled = f' fill="url(#{escape(fill)})"' if fill else ""
        self._parts.append(
            f'<rect class="{look}" x="{figure(x)}" y="{figure(y)}" '
            f'width="{figure(max(width, 0))}" height="{figure(max(height, 0))}"{filled}/>'
        )

    def rounded(self, x: float, y: float, width: float, height: float, *, look: str) -> None:
        """A box whose ends are half circles."""
        self._parts.append(
            f'<rect class="{look}" x="{figure(x)}" y="{figure(y)}" width="{figure(width)}" '
            f'height="{figure(height)}" rx="{figure(height / 2)}"/>'
        )

    def dot(self, x: float, y: float, radius: float, *, look: str) -> None:
        """A circle."""
        self._parts.append(
            f'<circle class="{look}" cx="{figure(x)}" cy="{figure(y)}" r="{figure(radius)}"/>'
        )

    def saltire(self, x: float, y: float, half: float) -> None:
        """A heavy diagonal cross: failed."""
        self.path(
            f"M{figure(x - half)} {figure(y - half)}L{figure(x + half)} {figure(y + half)}"
            f"M{figure(x + half)} {figure(y - half)}L{figure(x - half)} {figure(y + half)}",
            look="red w3",
        )

    def text(self, x: float, y: float, words: str, *, look: str = "", turned: float = 0.0) -> None:
        """Words on a baseline, turned clockwise by so many degrees about their anchor."""
        classed = f' class="{look}"' if look else ""
        if round(turned, 1):
            classed += f' transform="rotate({figure(turned)} {figure(x)} {figure(y)})"'
        self._parts.append(
            f'<text x="{figure(x)}" y="{figure(y)}"{classed}>{escape(printable(words))}</text>'
        )

    def mark(self, x: float, y: float, size: float, href: str, *, look: str) -> None:
        """A mark of the sprite, by its address, with its middle at a spot."""
        left, top = figure(x - size / 2), figure(y - size / 2)
        self._parts.append(
            f'<use class="{look}" href="{escape(href)}" x="{left}" y="{top}" '
            f'width="{figure(size)}" height="{figure(size)}"/>'
        )

    def open_group(self, key: str) -> None:
        """What is drawn from here on belongs to what the page knows by a key."""
        self._parts.append(f'<g data-key="{escape(key)}">')

    def close_group(self) -> None:
        """End the group."""
        self._parts.append("</g>")

    def hatch(self, name: str) -> None:
        """A pattern at 45 degrees, 2.6 on 4: past its day."""
        self._parts.append(
            f'<defs><pattern id="{escape(name)}" width="4" height="4" '
            'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            '<path class="hatch-line" d="M0 0v4"/></pattern></defs>'
        )

    def markup(self) -> str:
        """The whole drawing; every text in it was escaped on the way in."""
        size = f"{figure(self.width)} {figure(self.height)}"
        says = escape(printable(self._says))
        return (
            f'<svg viewBox="0 0 {size}" width="{figure(self.width)}" '
            f'height="{figure(self.height)}" role="img" aria-label="{says}">'
            f"{''.join(self._parts)}</svg>"
        )
