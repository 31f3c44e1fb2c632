"""A LetterContent becomes a PDF: the same content and link give the same bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from functools import cache, partial
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    NextPageTemplate,
    PageTemplate,
    Spacer,
)
from reportlab.platypus import Table as PlatypusTable

from notices.domain.content import LetterContent, OtherText, Section, Table
from notices.domain.long_dates import NO_BREAK
from notices.rendering import faces
from notices.rendering.codes import MODULE_PT, QUIET_MODULES, LinkCode
from notices.rendering.furniture import address_box, draw_first, draw_later
from notices.rendering.keeping import Together
from notices.rendering.marks import Element, Tree
from notices.rendering.missing_glyphs import what_is_missing
from notices.rendering.page_frame import Drawn, built, counted, draw_foot_words, text_frame
from notices.rendering.paper import Paper, paper_of
from notices.rendering.paragraphs import (
    CAPTION,
    CAUTION,
    HEADLINE,
    SECOND_HEADLINE,
    SECTION,
    STEP,
    TEXT,
    UNDER_SECTION,
    P,
    Strong,
    balanced,
)
from notices.rendering.tables import assembly_table
from notices.rendering.tagging import About

OTHER_HEADLINE = ParagraphStyle("other", parent=HEADLINE, fontSize=14, leading=17)
BEFORE_LIST = ParagraphStyle("before a list", parent=SECTION, keepWithNext=0, spaceAfter=3)
LIST_NEEDS = 110
"""Points that the title of a long table needs on a sheet: its head and two rows with it."""

OTHER_NEEDS = 330
"""Points the second language's text needs on a sheet to begin there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RenderedLetter:
    """The bytes with their digest, and what a person must look at before they are mailed."""

    pdf: bytes
    sha256: str
    pages: int
    flags: tuple[str, ...]


def render(content: LetterContent, *, link: str, logo: bytes | None = None) -> RenderedLetter:
    """Draw the letter. Most take one sheet; where that guess is wrong it is drawn once more.

    `logo` is the PNG of the content's letterhead, where it has one. The paper is its office's.
    """
    paper = paper_of(content.letterhead.paper)
    pdf, pages = counted(partial(_drawn, content, link, paper, logo))
    return RenderedLetter(
        pdf=pdf,
        sha256=hashlib.sha256(pdf).hexdigest(),
        pages=pages,
        flags=tuple(_flags(content, paper=paper)),
    )


def _flags(content: LetterContent, *, paper: Paper) -> Iterator[str]:
    if missing := what_is_missing(_texts(content)):
        yield missing
    box = address_box(content.address_lines, paper=paper)
    if content.address_lines and not paper.window_sure.holds(box):
        yield "The address does not fit the envelope's window."


def _texts(said: Any) -> list[str]:
    """Every text of a content and its parts."""
    found: list[str] = []
    _gather(said, found)
    return found


def _gather(said: Any, found: list[str]) -> None:
    kind: Any = type(said)
    if kind is str:
        found.append(said)
    elif kind is tuple:
        for part in said:
            _gather(part, found)
    else:
        for name in _fields_of(kind):
            _gather(getattr(said, name), found)


@cache
def _fields_of(kind: Any) -> tuple[str, ...]:
    return tuple(one.name for one in fields(kind)) if is_dataclass(kind) else ()


def _drawn(
    content: LetterContent, link: str, paper: Paper, logo: bytes | None, pages: int
) -> Drawn:
    tree = Tree()
    about = About(
        title=f"{content.title} {content.reference[2].value}",
        author=content.letterhead.name,
        language=content.language,
    )
    top = tree.root.add("Sect")
    return built(
        _story(content, link=link, paper=paper, part=tree.root),
        about=about,
        paper=paper,
        templates=_templates(content, paper=paper, pages=pages, top=top, logo=logo),
        tree=tree,
    )


def _templates(
    content: LetterContent, *, paper: Paper, pages: int, top: Element, logo: bytes | None
) -> list[PageTemplate]:
    def first(canvas: Any, document: Any) -> None:
        draw_first(canvas, content, paper, top=top, logo=logo)
        foot(canvas, document)

    def later(canvas: Any, document: Any) -> None:
        draw_later(canvas, content, paper)
        foot(canvas, document)

    def foot(canvas: Any, document: Any) -> None:
        told = content.page_words % {"page": document.page, "pages": pages}
        draw_foot_words(canvas, paper, left=content.foot, right=told)

    return [
        PageTemplate("first", frames=[text_frame(paper, top=paper.text_top)], onPage=first),
        PageTemplate("later", frames=[text_frame(paper, top=paper.later_top)], onPage=later),
    ]


def _story(content: LetterContent, *, link: str, paper: Paper, part: Element) -> Iterator[Flowable]:
    """The letter's text in reading order; each piece adds its element as it is made."""
    yield NextPageTemplate("later")
    title = part.add("H1", title=" ".join(content.headline))
    for place, sentence in enumerate(content.headline, 1):
        style = balanced(sentence, style=HEADLINE, width=paper.text_width)
        line = P(sentence, style=style, element=title)
        line.is_followed = place < len(content.headline)
        yield line
    if content.second_headline:
        second = content.second_headline
        style = balanced(second, style=SECOND_HEADLINE, width=paper.text_width)
        yield P(second, style=style, element=part.add("P", language=content.second_language))
    for paragraph in content.paragraphs:
        yield P(paragraph, style=TEXT, element=part.add("P"))
    yield from _table(content.table, paper=paper, part=part, is_at_end=False)
    yield _what_to_do(content, link=link, paper=paper, part=part)
    yield from _ending(content, part=part)
    if content.other is not None:
        yield CondPageBreak(OTHER_NEEDS)
        language = content.other.language
        yield from _other(content.other, paper=paper, part=part.add("Sect", language=language))
    yield from _table(content.table, paper=paper, part=part, is_at_end=True)
    if content.other is not None:
        within = (
            part.add("Sect", language=content.other.language) if content.other.table.title else part
        )
        yield from _table(content.other.table, paper=paper, part=within, is_at_end=True)


def _table(table: Table, *, paper: Paper, part: Element, is_at_end: bool) -> Iterator[Flowable]:
    """The table where it belongs: within the letter, or a long one under its title at the end."""
    if bool(table.title) != is_at_end:
        return
    yield Spacer(1, 7)
    if table.title:
        yield CondPageBreak(LIST_NEEDS)
        title = part.add("H2", title=table.title)
        yield P(table.title, style=BEFORE_LIST, element=title)
    yield assembly_table(table, width=paper.text_width, within=part)


def _ending(content: LetterContent | OtherText, *, part: Element) -> Iterator[Flowable]:
    """The sections, the office's closing words and the cautions."""
    *sections, last = content.sections
    for section in sections:
        yield Together(list(_section(section, part=part)))
    # The cautions never stand alone on a sheet of their own.
    ending = list(_section(last, part=part))
    if content.closing:
        ending.append(P(content.closing, style=TEXT, element=part.add("P")))
    cautions = P(" ".join(content.cautions), style=CAUTION, element=part.add("P"))
    yield Together([*ending, Spacer(1, 2), cautions])


def _other(said: OtherText, *, paper: Paper, part: Element) -> Iterator[Flowable]:
    """The whole letter again in its second language, on a new sheet where this one is full."""
    yield Spacer(1, 16)
    title = part.add("H1", title=" ".join(said.headline))
    for place, sentence in enumerate(said.headline, 1):
        line = P(sentence, style=OTHER_HEADLINE, element=title)
        line.is_followed = place < len(said.headline)
        yield line
    for paragraph in said.paragraphs:
        yield P(paragraph, style=TEXT, element=part.add("P"))
    yield from _table(said.table, paper=paper, part=part, is_at_end=False)
    heading = part.add("H2", title=said.steps_heading)
    yield P(said.steps_heading, style=SECTION, element=heading)
    yield _numbered(said.steps, width=paper.text_width, part=part.add("L"))
    yield from _ending(said, part=part)


def _section(section: Section, *, part: Element) -> Iterator[Flowable]:
    yield P(section.heading, style=SECTION, element=part.add("H2", title=section.heading))
    for paragraph in section.paragraphs:
        yield P(paragraph, style=UNDER_SECTION, element=part.add("P"))


def _what_to_do(content: LetterContent, *, link: str, paper: Paper, part: Element) -> Flowable:
    """The numbered steps and the words to the link, with the QR at their right."""
    heading = part.add("H2", title=content.steps_heading)
    if not content.link.code:
        return _steps_alone(content, heading=heading, paper=paper, part=part)
    steps, words = part.add("L"), part.add("P")
    shown = f"QR: {content.link.shown_address}"
    code = LinkCode(link, element=part.add("Figure", alt=shown))
    quiet = QUIET_MODULES * MODULE_PT
    left = paper.text_width - code.width - 2 * quiet
    beside = [
        P(content.steps_heading, style=SECTION, element=heading),
        Spacer(1, 2),
        _numbered(content.steps, width=left, part=steps),
        _link_words(content, part=words),
    ]
    pair = PlatypusTable(
        [[beside, code]],
        colWidths=[left + quiet, code.width + quiet],
        hAlign="LEFT",
        spaceBefore=quiet + 2,
    )
    pair.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_no_padding()])
    return pair


def _steps_alone(
    content: LetterContent, *, heading: Element, paper: Paper, part: Element
) -> Flowable:
    """The numbered steps of a letter that has no page of its own to lead to."""
    steps = _numbered(content.steps, width=paper.text_width, part=part.add("L"))
    title = P(content.steps_heading, style=SECTION, element=heading)
    return Together([title, Spacer(1, 2), steps])


def _numbered(steps: tuple[str, ...], *, width: float, part: Element) -> PlatypusTable:
    rows = []
    for place, step in enumerate(steps, 1):
        item = part.add("LI")
        number = P(f"{place}.", style=STEP, element=item.add("Lbl"))
        rows.append([number, P(step, style=STEP, element=item.add("LBody"))])
    numbered = PlatypusTable(rows, colWidths=[15, width - 15], hAlign="LEFT")
    numbered.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_no_padding()])
    return numbered


def _link_words(content: LetterContent, *, part: Element) -> Flowable:
    words = content.link
    return P(
        words.before,
        Strong(words.shown_address),
        words.between,
        Strong(words.code.replace(" ", NO_BREAK)),
        style=CAPTION,
        element=part,
    )


def _no_padding() -> list[tuple[Any, ...]]:
    sides = ("LEFT", "RIGHT", "TOP", "BOTTOM")
    # A cell names its face even where a paragraph stands in it: let it be one of ours.
    return [
        ("FONTNAME", (0, 0), (-1, -1), faces.SANS),
        *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in sides),
    ]
