"""The cover sheet of a paper run: what is in it, so that a person sees that all of it is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate, Spacer
from reportlab.platypus import Table as PlatypusTable

from notices.domain.paper_runs import PageGroup
from notices.rendering import faces
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import CELL, HEAD_CELL, HEADLINE, INK, TEXT, P


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """What a cover sheet says. `digest` is that of the run's list of letters and their hashes."""

    office: str
    title: str
    facts: Sequence[tuple[str, str]]
    groups: Sequence[PageGroup]
    digest: str
    words: Sequence[str]


def cover_sheet(cover: Cover, *, paper: Paper = US_LETTER) -> bytes:
    """Return the sheet as a PDF of one page; the same cover gives the same bytes."""
    faces.register()
    stream = BytesIO()
    frame = Frame(
        paper.left,
        paper.text_bottom,
        paper.text_width,
        paper.height - paper.later_top - paper.text_bottom,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document = BaseDocTemplate(
        stream,
        pagesize=(paper.width, paper.height),
        pageTemplates=[PageTemplate("cover", frames=[frame])],
        title=cover.title,
        author=cover.office,
        lang="en",
        invariant=1,
    )
    document.build(
        [
            P(cover.office, style=TEXT),
            P(cover.title, style=HEADLINE),
            Spacer(1, 10),
            _table([[name, value] for name, value in cover.facts], widths=[140, 340]),
            Spacer(1, 14),
            _table(
                [
                    ["Pages each", "Sheets each", "Letters", "Places in the run"],
                    *(
                        [str(g.pages), str(g.sheets), f"{g.letters:,}", f"{g.first} to {g.last}"]
                        for g in cover.groups
                    ),
                ],
                widths=[100, 100, 100, 180],
                has_head=True,
            ),
            Spacer(1, 14),
            P(f"SHA-256 of the list of letters: {in_eights(cover.digest)}", style=CELL),
            *(P(words, style=TEXT) for words in cover.words),
        ]
    )
    return stream.getvalue()


def in_eights(digest: str) -> str:
    """Return a digest in groups of eight, so that two can be compared by eye."""
    return " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))


def _table(
    rows: Sequence[Sequence[str]], *, widths: Sequence[float], has_head: bool = False
) -> PlatypusTable:
    cells = [
        [P(text, style=HEAD_CELL if has_head and not place else CELL) for text in row]
        for place, row in enumerate(rows)
    ]
    table = PlatypusTable(cells, colWidths=list(widths), hAlign="LEFT", repeatRows=int(has_head))
    table.setStyle(
        [
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, INK),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ]
    )
    return table
