"""`P`, the only way text gets into a Paragraph: escaped, its words capped, its markup ours.

ReportLab's Paragraph reads XML: a party named `A <B & C` would stop a batch and
`<img src=…>` would open a file. So text is escaped here, and the parser's own
way to images is shut besides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.lib.colors import Color
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph
from reportlab.platypus.paraparser import ParaParser

from notices.domain.cleaning import clean
from notices.domain.long_dates import NO_BREAK
from notices.rendering import faces
from notices.rendering.marks import Element, drawn_as

PARAGRAPH_CAP = 4000
INK = Color(0.078, 0.137, 0.169)
INK_2 = Color(0.247, 0.314, 0.349)


class MarkupRefusedError(Exception):
    """Text reached the paragraph parser unescaped and asked for a file."""


def _refuse(*_args: Any) -> None:
    raise MarkupRefusedError


rl_config.invariant = 1
rl_config.trustedSchemes = ["data"]
rl_config.trustedHosts = []
for _name in ("start_img", "start_a", "start_link"):
    setattr(ParaParser, _name, _refuse)


@dataclass(frozen=True, slots=True)
class Strong:
    """Text to stand in semi-bold within a paragraph."""

    text: str


class MarkedParagraph(Paragraph):  # type: ignore[misc]
    """A paragraph that keeps the blank at the end of each line, and marks its part in the text.

    ReportLab drops the blank where it breaks a line, so that a reader that takes the text
    out runs two words together.
    """

    element: Element | None = None
    is_followed = False
    """Whether more of the same element follows, so that its end has a blank too."""

    _is_drawn = False

    def split(self, width: float, height: float) -> list[Any]:
        """Split over two sheets; both parts are of the same element."""
        parts: list[Any] = super().split(width, height)
        for part in parts:
            part.element = self.element
        return parts

    def draw(self) -> None:
        """Draw it; a table's head that is drawn again on the next sheet is an artifact there."""
        if not self._is_drawn:
            _keep_blanks(self.blPara, to_the_end=self.is_followed)
        if self.element is None:
            super().draw()
        else:
            with drawn_as(self.canv, None if self._is_drawn else self.element):
                super().draw()
        self._is_drawn = True


def P(  # noqa: N802 - the house name
    *parts: str | Strong, style: ParagraphStyle, element: Element | None = None
) -> MarkedParagraph:
    """Return a paragraph of plain text; markup in `parts` is printed as it stands."""
    faces.register()
    made = MarkedParagraph(" ".join(_marked(part) for part in parts), style)
    made.element = element
    return made


def _keep_blanks(broken: Any, *, to_the_end: bool) -> None:
    """Put back the blank that each line but the last ended with."""
    for line in broken.lines if to_the_end else broken.lines[:-1]:
        if broken.kind == 0:
            words = line[1]
            # A line of one word may end within it: a word wider than the line.
            if len(words) > 1:
                words[-1] += " "
        elif len(line.words) > 1 or " " in line.words[0].text:
            line.words[-1].text += " "


def balanced(text: str, *, style: ParagraphStyle, width: float) -> ParagraphStyle:
    """Return the style narrowed so that the lines of a heading come out about as long."""
    whole = faces.width(text, face=style.fontName, size=style.fontSize)
    lines = math.ceil(whole / width)
    if lines == 1:
        return style
    spare = width - 1.12 * whole / lines
    return ParagraphStyle(style.name, parent=style, rightIndent=max(0.0, spare))


def _marked(part: str | Strong) -> str:
    if isinstance(part, Strong):
        return f"<b>{_safe(part.text)}</b>"
    return _safe(part)


def _safe(text: str) -> str:
    # Cleaned piece by piece: what a no-break space holds together stays together.
    pieces = (clean(piece, cap=PARAGRAPH_CAP) for piece in text[:PARAGRAPH_CAP].split(NO_BREAK))
    return escape(NO_BREAK.join(pieces))


def _style(name: str, face: str, size: float, leading: float, **more: Any) -> ParagraphStyle:
    return ParagraphStyle(
        name,
        fontName=face,
        fontSize=size,
        leading=leading,
        textColor=more.pop("textColor", INK),
        alignment=TA_LEFT,
        splitLongWords=1,
        **more,
    )


HEADLINE = _style("headline", faces.SERIF_BOLD, 17, 20.5)
SECOND_HEADLINE = _style("second", faces.SERIF_ITALIC, 11.5, 15, spaceBefore=2.5)
TEXT = _style("text", faces.SANS, 10.5, 14, spaceBefore=5)
SECTION = _style("section", faces.SERIF_BOLD, 11.5, 14, spaceBefore=8, keepWithNext=1)
STEP = _style("step", faces.SANS, 10.5, 14.6)
UNDER_SECTION = _style("under", faces.SANS, 10.5, 14, spaceBefore=2.5)
CELL = _style("cell", faces.SANS, 9.5, 12)
HEAD_CELL = _style("head cell", faces.SANS_BOLD, 9.5, 12)
GROUP_CELL = _style("group cell", faces.SANS_BOLD, 9.5, 12)
CAUTION = _style("caution", faces.SANS, 8, 10.8, spaceBefore=3, textColor=INK_2)
CAPTION = _style("caption", faces.SANS, 9.5, 12, spaceBefore=5)
