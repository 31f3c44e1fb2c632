"""Draws a story on paper: what it is about, what happened, every letter, and the rules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, LongTable, PageTemplate, Spacer

from notices.rendering import faces
from notices.rendering.covers import in_eights
from notices.rendering.paper import US_LETTER
from notices.rendering.paragraphs import CELL, HEAD_CELL, HEADLINE, INK, INK_2, SECTION, TEXT, P
from reports.domain.evidence import LetterTold, Story

PAPER = US_LETTER
BEFORE_TABLE = ParagraphStyle("before a table", parent=SECTION, keepWithNext=0)
"""A heading kept with a long table would take it to the next sheet whole."""

CAUTION = (
    "This file tells what the record holds. It is no legal advice: the local code and the "
    "office's counsel decide what it proves."
)


def drawn(story: Story) -> bytes:
    """Return the pages as a PDF; the same story gives the same bytes."""
    faces.register()
    stream = BytesIO()
    frame = Frame(
        PAPER.left,
        PAPER.text_bottom,
        PAPER.text_width,
        PAPER.height - PAPER.later_top - PAPER.text_bottom,
        *(0, 0, 0, 0),
    )

    def foot(canvas: Any, document: Any) -> None:
        canvas.setFillColor(INK_2)
        canvas.setFont(faces.SANS, 8)
        y = PAPER.from_top(PAPER.foot_baseline)
        canvas.drawString(PAPER.left, y, f"{story.program}, evidence of {story.as_of.isoformat()}")
        canvas.drawRightString(PAPER.width - PAPER.right, y, f"Page {document.page}")

    document = BaseDocTemplate(
        stream,
        pagesize=(PAPER.width, PAPER.height),
        pageTemplates=[PageTemplate("all", frames=[frame], onPage=foot)],
        title=f"Evidence: {story.about}",
        author=story.office,
        lang="en",
        invariant=1,
    )
    document.build(list(_flow(story)))
    return stream.getvalue()


def _flow(story: Story) -> Iterator[Flowable]:
    yield P(story.office, style=TEXT)
    yield P(f"Evidence: {story.about}", style=HEADLINE)
    made = f"As of {story.as_of.isoformat()}; made {story.made_at} by {story.made_by}."
    yield P(made, style=TEXT)
    yield P(CAUTION, style=TEXT)
    if story.things:
        yield P("Assemblies", style=BEFORE_TABLE)
        heads = ("Serial", "Type", "Size", "Where", "Hazard")
        yield _table(heads, story.things, shares=(24, 12, 12, 32, 20))
    yield P("What happened", style=BEFORE_TABLE)
    rows = [
        (event.on.isoformat(), event.what, event.about, event.by, event.ground)
        for event in story.events
    ]
    heads = ("Day", "What", "About", "Who, whence", "Ground")
    yield _table(heads, rows, shares=(13, 28, 11, 20, 28))
    if story.letters:
        yield P("Letters, as they were sent", style=SECTION)
        yield P("The file of each letter is attached to this one, byte by byte.", style=TEXT)
        for letter in story.letters:
            yield from _letter(letter)
    yield P("Rules", style=SECTION)
    for rules in story.rules:
        yield P(f"{rules.title} ({rules.edition}), SHA-256 {in_eights(rules.sha256)}", style=TEXT)
        for citation in rules.citations:
            yield P(citation, style=CELL)
    yield P("How to check this file", style=SECTION)
    yield P(
        "“manage.py verify_evidence FILE” needs no database. It compares every byte with the "
        "check sum in the file’s last line, and each letter with its own.",
        style=TEXT,
    )
    yield P(_head_words(story), style=TEXT)


def _head_words(story: Story) -> str:
    if not story.head:
        return "The ledger had not been sealed when this was made."
    size, _, root = story.head.partition(":")
    return (
        f"Head of the ledger: {size} entries, {in_eights(root)}. Compare it with the head on an "
        "earlier report, or give it to “manage.py check_ledger --head”."
    )


def _letter(letter: LetterTold) -> Iterator[Flowable]:
    left = f"left {letter.left_on}" if letter.left_on else letter.state
    yield Spacer(1, 6)
    title = f"{letter.number}, {letter.kind.replace('-', ' ')}: {left}"
    rows: list[tuple[str, str]] = [
        ("To", ", ".join(letter.to)),
        ("Carries", "; ".join(letter.carries)),
        ("Composed", letter.composed_on),
    ]
    if letter.released_by:
        rows.append(("Released", f"by {letter.released_by}"))
    if letter.ended:
        rows.append(("Ended", letter.ended))
    for way in letter.ways:
        said = [f"{way.state} {way.left_on}".strip(), way.detail, way.tracking, *way.tries]
        rows.append((f"By {way.channel}", ". ".join(part for part in said if part)))
    if letter.file:
        kept = f"{letter.file}, {letter.pages} pages, SHA-256 {in_eights(letter.sha256)}"
        rows.append(("Attached", kept))
    yield _table((letter.number, title.partition(", ")[2]), rows, shares=(18, 82))


def _table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, shares: Sequence[int]
) -> LongTable:
    cells = [[P(head, style=HEAD_CELL) for head in heads]]
    cells += [[P(cell or " ", style=CELL) for cell in row] for row in rows]
    widths = [share * PAPER.text_width / sum(shares) for share in shares]
    table = LongTable(cells, colWidths=widths, repeatRows=1, hAlign="LEFT", spaceBefore=4)
    table.setStyle(
        [
            ("LINEABOVE", (0, 0), (-1, 0), 1, INK),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, INK),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 0), (-1, -1), 2.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ]
    )
    return table
