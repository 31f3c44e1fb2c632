"""`P`, the only way text gets into a Paragraph: as it stands, its words capped, no markup read.

ReportLab's Paragraph reads XML: a party named `A <B & C` would stop a batch and
`<img src=…>` would open a file. So the parser never sees text: a paragraph gets its
pieces ready made, which is quicker too. The parser's own way to images is shut besides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from reportlab import rl_config
from reportlab.lib.colors import Color
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.fonts import ps2tt, tt2ps
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph
from reportlab.platypus.paraparser import ParaFrag, ParaParser

from notices.domain.cleaning import clean
from notices.domain.long_dates import NO_BREAK
from notices.rendering import faces
from notices.rendering.marks import Element, drawn_as

PARAGRAPH_CAP = 4000
STEP_OF_BALANCE = 6
"""Points by which a heading is widened until it takes no line more."""

INK = Color(0.078, 0.137, 0.169)
INK_2 = Color(0.247, 0.314, 0.349)


class MarkupRefusedError(Exception):
    """Text reached the paragraph parser unescaped and asked for a file."""


def _refuse(*_args: Any) -> None:
    raise MarkupRefusedError


rl_config.invariant = 1
rl_config.trustedSchemes = ["data"]
rl_config.trustedHosts = []
rl_config.useA85 = 0  # bytes as they are: a file for printing and mailing is no text
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
    _wrapped_to: float | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Break the text into lines; a table asks more than once for the same width."""
        if width != self._wrapped_to or not hasattr(self, "blPara"):
            super().wrap(width, height)
            self._wrapped_to = width
        return self.width, self.height

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
            self._draw_text()
        else:
            with drawn_as(self.canv, None if self._is_drawn else self.element):
                self._draw_text()
        self._is_drawn = True

    def _draw_text(self) -> None:
        """Draw the lines; where nothing but their text is to be drawn, as plain text."""
        broken, style, canvas = self.blPara, self.style, self.canv
        is_plain = broken.kind == 0 and style.alignment == TA_LEFT and not style.firstLineIndent
        if not is_plain or style.backColor or self.bulletText:
            super().draw()
            return
        if not broken.lines:
            return
        canvas.setFillColor(broken.textColor)
        text = canvas.beginText(style.leftIndent, self.height - broken.fontSize)
        text.setFont(broken.fontName, broken.fontSize, style.leading)
        for _spare, words in broken.lines:
            text.textLine(" ".join(words))
        canvas.drawText(text)


def P(  # noqa: N802 - the house name
    *parts: str | Strong, style: ParagraphStyle, element: Element | None = None
) -> MarkedParagraph:
    """Return a paragraph of plain text; markup in `parts` is printed as it stands."""
    faces.register()
    made = MarkedParagraph("", style, frags=list(_pieces(parts, style=style)))
    made.element = element
    return made


def _pieces(parts: tuple[str | Strong, ...], *, style: ParagraphStyle) -> Iterator[ParaFrag]:
    """The parts with a blank between them, each set in the style's face or its bolder cut."""
    last = len(parts) - 1
    for place, part in enumerate(parts):
        is_strong = isinstance(part, Strong)
        text = _cleaned(part.text if isinstance(part, Strong) else part)
        yield ParaFrag(
            text=text if place == last else f"{text} ",
            fontName=_cut(style.fontName, is_strong=is_strong),
            fontSize=style.fontSize,
            textColor=style.textColor,
            bold=int(is_strong),
            italic=0,
            rise=0,
            greek=0,
            link=[],
            us_lines=[],
        )


@cache
def _cut(face: str, *, is_strong: bool) -> str:
    """The face itself, or the bolder cut of its family."""
    if not is_strong:
        return face
    family, _, italic = ps2tt(face)
    return str(tt2ps(family, 1, italic))


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
    words = [
        faces.width(word, face=style.fontName, size=style.fontSize) for word in text.split(" ")
    ]
    blank = faces.width(" ", face=style.fontName, size=style.fontSize)
    lines = _lines_of(words, blank=blank, width=width)
    if lines == 1:
        return style
    narrow = min(width, 1.12 * (sum(words) + blank * (len(words) - 1)) / lines)
    while narrow < width and _lines_of(words, blank=blank, width=narrow) > lines:
        narrow += STEP_OF_BALANCE
    return ParagraphStyle(style.name, parent=style, rightIndent=max(0.0, width - narrow - 1))


def _lines_of(words: Sequence[float], *, blank: float, width: float) -> int:
    """How many lines words of these widths take."""
    lines, at = 1, -blank
    for word in words:
        if at + blank + word > width and at > 0:
            lines, at = lines + 1, word
        else:
            at += blank + word
    return lines


@lru_cache(maxsize=2000)  # a run of letters says the same sentences again and again
def _cleaned(text: str) -> str:
    # Cleaned piece by piece: what a no-break space holds together stays together.
    pieces = (clean(piece, cap=PARAGRAPH_CAP) for piece in text[:PARAGRAPH_CAP].split(NO_BREAK))
    return NO_BREAK.join(pieces)


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
