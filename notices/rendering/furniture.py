"""What stands at fixed places of a sheet: letterhead, window address, reference, folds, foot."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reportlab.lib.colors import Color, HexColor

from notices.domain.cleaning import ELLIPSIS, clean
from notices.domain.content import LetterContent
from notices.rendering import faces
from notices.rendering.logos import LOGO_GAP, draw_logo
from notices.rendering.marks import Element, drawn_as
from notices.rendering.paper import Box, Paper
from notices.rendering.paragraphs import INK, INK_2

REFERENCE_STEP = 13.5
NAME_SIZE, LEAST_NAME_SIZE = 13, 9
WRAPPED_STEP = 10.5
LEAST_SIZE = 8.2
"""Points a value of the reference may be made smaller to; a longer one takes two lines."""

MOST_CONTACT = 210.0


@dataclass(frozen=True, slots=True)
class AddressType:
    """Size, line step and first baseline of the address block."""

    size: float
    step: float
    first_baseline: float


def address_type(lines: tuple[str, ...], *, paper: Paper) -> AddressType:
    """Return the larger type for up to four lines, the smaller for five."""
    if len(lines) <= 4:
        return AddressType(10.5, 11.5, paper.address_first_baseline)
    return AddressType(9, 9.4, paper.window_sure.top + 7.5)


def address_box(lines: tuple[str, ...], *, paper: Paper) -> Box:
    """Return the box that the printed address fills: ascenders and descenders included."""
    kind = address_type(lines, paper=paper)
    widest = max((faces.width(line, face=faces.SANS, size=kind.size) for line in lines), default=0)
    return Box(
        left=paper.address_x,
        right=paper.address_x + widest,
        top=kind.first_baseline - 0.75 * kind.size,
        bottom=kind.first_baseline + kind.step * max(len(lines) - 1, 0) + 0.25 * kind.size,
    )


def draw_first(
    canvas: Any,
    content: LetterContent,
    paper: Paper,
    *,
    top: Element,
    logo: bytes | None = None,
) -> None:
    """Draw what only the first sheet carries; `top` is the part of the text it makes up."""
    faces.register()
    at = paper.left
    if logo is not None:
        at += draw_logo(canvas, logo, paper) + LOGO_GAP
    _letterhead(canvas, content, paper, top=top, left=at)
    _address(canvas, content, paper, top=top)
    _reference(canvas, content, paper, top=top)
    with drawn_as(canvas, None):
        _rules_and_folds(canvas, paper, ink=office_ink(content.letterhead.colour))


def office_ink(colour: str) -> Color:
    """Return the office's colour, checked when it was chosen; without one our ink."""
    return HexColor(colour) if colour else INK


def _rules_and_folds(canvas: Any, paper: Paper, *, ink: Color) -> None:
    canvas.setStrokeColor(ink)
    for y, weight in zip(paper.rules, paper.rule_weights, strict=True):
        canvas.setLineWidth(weight)
        canvas.line(paper.left, paper.from_top(y), paper.width - paper.right, paper.from_top(y))
    canvas.setStrokeColor(INK_2)
    canvas.setLineWidth(0.4)
    for y in paper.fold_marks:
        canvas.line(
            paper.fold_mark_x[0], paper.from_top(y), paper.fold_mark_x[1], paper.from_top(y)
        )


def draw_later(canvas: Any, content: LetterContent, paper: Paper) -> None:
    """Draw the head of the second and later sheets: it repeats, so it is no part of the text."""
    faces.register()
    with drawn_as(canvas, None):
        _later_head(canvas, content, paper)


def _later_head(canvas: Any, content: LetterContent, paper: Paper) -> None:
    baseline = paper.from_top(paper.letterhead_baselines[0])
    canvas.setFillColor(INK)
    canvas.setFont(faces.SERIF_BOLD, 10)
    canvas.drawString(paper.left, baseline, fitted(content.letterhead.name, face=faces.SERIF_BOLD))
    canvas.setFont(faces.SANS, 9)
    label = f"{content.title} \u00b7 {content.reference[0].value}"
    canvas.drawRightString(paper.width - paper.right, baseline, label)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.6)
    y = paper.from_top(paper.letterhead_baselines[0] + 8)
    canvas.line(paper.left, y, paper.width - paper.right, y)


def _letterhead(
    canvas: Any, content: LetterContent, paper: Paper, *, top: Element, left: float
) -> None:
    first, second = (paper.from_top(y) for y in paper.letterhead_baselines)
    head, edge = content.letterhead, paper.width - paper.right
    widest = max((faces.width(line, face=faces.SANS, size=9) for line in head.contact), default=0)
    most = edge - left - min(widest, MOST_CONTACT) - LOGO_GAP
    with drawn_as(canvas, top.add("P")):
        canvas.setFillColor(office_ink(head.colour))
        size = _size_of_name(head.name, most=most)
        canvas.setFont(faces.SERIF_BOLD, size)
        name = fitted(head.name, face=faces.SERIF_BOLD, size=size, most=most)
        canvas.drawString(left, first, name)
    with drawn_as(canvas, top.add("P")):
        canvas.setFillColor(INK_2)
        canvas.setFont(faces.SANS, 9)
        canvas.drawString(left, second, fitted(head.line, face=faces.SANS, size=9, most=most))
    for line, y in zip(head.contact, (first, second), strict=False):
        with drawn_as(canvas, top.add("P")):
            canvas.drawRightString(edge, y, fitted(line, face=faces.SANS, most=MOST_CONTACT))


def _size_of_name(name: str, *, most: float) -> float:
    """A long name is set smaller before it would be cut."""
    wide = faces.width(clean(name), face=faces.SERIF_BOLD, size=NAME_SIZE)
    return NAME_SIZE if wide <= most else max(LEAST_NAME_SIZE, NAME_SIZE * (most - 0.1) / wide)


def _address(canvas: Any, content: LetterContent, paper: Paper, *, top: Element) -> None:
    kind = address_type(content.address_lines, paper=paper)
    canvas.setFillGray(0)
    canvas.setFont(faces.SANS, kind.size)
    for place, line in enumerate(content.address_lines):
        text = fitted(line, face=faces.SANS, size=kind.size, most=paper.address_width)
        y = paper.from_top(kind.first_baseline + place * kind.step)
        with drawn_as(canvas, top.add("P")):
            canvas.drawString(paper.address_x, y, text)


def _reference(canvas: Any, content: LetterContent, paper: Paper, *, top: Element) -> None:
    most = paper.width - paper.right - paper.reference_value_x
    y = paper.from_top(paper.reference_first_baseline)
    for pair in content.reference:
        size, lines = _lines_for(pair.value, face=faces.SANS_BOLD, size=9, most=most)
        with drawn_as(canvas, top.add("P")):
            canvas.setFillColor(INK_2)
            canvas.setFont(faces.SANS, 9)
            canvas.drawString(paper.reference_x, y, f"{pair.label} ")
            canvas.setFillColor(INK)
            canvas.setFont(faces.SANS_BOLD, size)
            for place, line in enumerate(lines):
                y -= WRAPPED_STEP if place else 0
                canvas.drawString(paper.reference_value_x, y, line)
        y -= REFERENCE_STEP


def _lines_for(text: str, *, face: str, size: float, most: float) -> tuple[float, list[str]]:
    """Return a value on one line, somewhat smaller where that is enough, or on two."""
    line = clean(text)
    fits = size * most / max(faces.width(line, face=face, size=size), 1)
    if fits >= LEAST_SIZE:
        return min(size, fits), [line]
    words, first = line.split(" "), ""
    while words and faces.width(f"{first} {words[0]}".strip(), face=face, size=size) <= most:
        first = f"{first} {words.pop(0)}".strip()
    found = [fitted(one, face=face, size=size, most=most) for one in (first, " ".join(words))]
    # The blank between them stays, so that a reader that takes the text out keeps two words.
    return size, [f"{found[0]} ", found[1]] if first else found[1:]


@lru_cache(maxsize=500)
def fitted(text: str, *, face: str, size: float = 9, most: float = 250) -> str:
    """Cut a line that would run into its neighbour; whoever composes it is told elsewhere."""
    line = clean(text)
    if faces.width(line, face=face, size=size) <= most:
        return line
    while line and faces.width(line + ELLIPSIS, face=face, size=size) > most:
        line = line[:-1]
    return line.rstrip() + ELLIPSIS
