"""The cover sheet of a paper run: what is in it, so that a person sees that all of it is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable, Spacer

from notices.domain.paper_runs import PageGroup
from notices.rendering.marks import Element
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import CELL, HEADLINE
from notices.rendering.tagged_sheets import said, tabled, tagged_sheets, titled
from notices.rendering.tagging import About

_HEADS = ("Pages each", "Sheets each", "Letters", "Places in the run")


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
    about = About(title=cover.title, author=cover.office, language="en")

    def flow(part: Element) -> Iterator[Flowable]:
        yield said(cover.office, part=part)
        yield titled(cover.title, part=part, style=HEADLINE, role="H1")
        yield Spacer(1, 10)
        yield tabled((), cover.facts, shares=(28, 72), part=part, paper=paper)
        yield Spacer(1, 14)
        yield tabled(_HEADS, _rows(cover), shares=(20, 20, 20, 40), part=part, paper=paper)
        yield Spacer(1, 14)
        digest = f"SHA-256 of the list of letters: {in_eights(cover.digest)}"
        yield said(digest, part=part, style=CELL)
        for words in cover.words:
            yield said(words, part=part)

    return tagged_sheets(about=about, foot=cover.title, flow=flow, paper=paper).pdf


def _rows(cover: Cover) -> Iterator[tuple[str, ...]]:
    for one in cover.groups:
        where = f"{one.first} to {one.last}"
        yield str(one.pages), str(one.sheets), f"{one.letters:,}", where


def in_eights(digest: str) -> str:
    """Return a digest in groups of eight, so that two can be compared by eye."""
    return " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))
