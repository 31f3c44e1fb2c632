"""Draws a story on paper: what it is about, what happened, every letter, and the rules."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from reportlab.platypus import Flowable, Spacer

from notices.domain.long_dates import long_date
from notices.queries.letter_names import letter_name
from notices.rendering.covers import in_eights
from notices.rendering.keeping import Together
from notices.rendering.marks import Element
from notices.rendering.paragraphs import CELL, HEADLINE, TEXT
from notices.rendering.tagged_sheets import BEFORE_TABLE, said, tabled, tagged_sheets, titled
from notices.rendering.tagging import About
from registry.templatetags.wording import in_prose
from reports.domain.evidence import LetterTold, Story
from reports.evidence.happenings import kind_words, way_words

CAUTION = (
    "This file tells what the record holds. It is no legal advice: the local code and the "
    "office\u2019s counsel decide what it proves."
)


def drawn(story: Story) -> bytes:
    """Return the pages as a PDF; the same story gives the same bytes."""
    about = About(title=f"Evidence: {story.about}", author=story.office, language="en")
    foot = f"{story.program}, evidence of {long_date(story.as_of)}"

    def flow(part: Element) -> Iterator[Flowable]:
        return _flow(story, part=part)

    return tagged_sheets(about=about, foot=foot, flow=flow).pdf


def _flow(story: Story, *, part: Element) -> Iterator[Flowable]:
    yield said(story.office, part=part)
    yield titled(f"Evidence: {story.about}", part=part, style=HEADLINE, role="H1")
    yield said(
        f"As of {long_date(story.as_of)}; made {_moment(story.made_at)} by {story.made_by}.",
        part=part,
    )
    yield said(CAUTION, part=part)
    if story.things:
        yield titled("Assemblies", part=part, style=BEFORE_TABLE)
        heads = ("Serial", "Type", "Size", "Where", "Hazard")
        yield tabled(heads, story.things, shares=(24, 12, 12, 32, 20), part=part)
    yield titled("What happened", part=part, style=BEFORE_TABLE)
    heads = ("Day", "What happened", "About", "By whom, whence", "Ground")
    rows = [
        (long_date(event.on), event.what, event.about, event.by, event.ground)
        for event in story.events
    ]
    yield tabled(heads, rows, shares=(15, 29, 10, 20, 26), part=part)
    if story.letters:
        title = titled("Letters, as they were sent", part=part, style=BEFORE_TABLE)
        how = said(
            "The file of each letter is attached to this one, byte by byte. One whose head names "
            "no day on which it left had not left.",
            part=part,
        )
        first, *others = story.letters
        yield Together([title, how, *_letter(first, part=part)])
        for letter in others:
            yield Together(_letter(letter, part=part))
    yield titled("Rules", part=part)
    for rules in story.rules:
        told = f"{rules.title} ({rules.edition}), SHA-256 {in_eights(rules.sha256)}"
        yield said(told, part=part)
        for citation in rules.citations:
            yield said(citation, part=part, style=CELL)
    yield titled("How to check this file", part=part)
    yield said(
        "\u201cmanage.py verify_evidence FILE\u201d needs no database. It compares every byte with "
        "the check sum in the file\u2019s last line, and each letter with its own.",
        part=part,
        style=TEXT,
    )
    yield said(_head_words(story), part=part)


def _head_words(story: Story) -> str:
    if not story.head:
        return "The ledger had not been sealed when this was made."
    size, _, root = story.head.partition(":")
    return (
        f"Head of the ledger: {size} entries, {in_eights(root)}. Compare it with the head on an "
        "earlier report, or give it to \u201cmanage.py check_ledger --head\u201d."
    )


def _letter(letter: LetterTold, *, part: Element) -> Iterator[Flowable]:
    left = f"left {_day(letter.left_on)}" if letter.left_on else letter.state
    yield Spacer(1, 6)
    carries = (_carried(one) for one in letter.carries)
    rows: list[tuple[str, str]] = [
        ("To", ", ".join(letter.to)),
        ("Carries", "; ".join(carries)),
        ("Composed", _day(letter.composed_on)),
        ("Wording", letter.wording),
    ]
    if letter.released_by:
        rows.append(("Released", f"by {letter.released_by}"))
    if letter.ended:
        rows.append(("Ended", letter.ended))
    for way in letter.ways:
        number = f"number {way.tracking}" if way.tracking else ""
        told = [f"{way.state} {_day(way.left_on)}".strip(), way.detail, number, *way.tries]
        words = ". ".join(one.rstrip(".") for one in told if one)
        rows.append((way_words(way.channel).capitalize(), in_prose(words)))
    if letter.file:
        pages = f"{letter.pages} page{'' if letter.pages == 1 else 's'}"
        kept = f"{letter.file}, {pages}, SHA-256 {in_eights(letter.sha256)}"
        rows.append(("Attached", kept))
    elif letter.sha256:
        gone = "The person it went to was erased, and its bytes with them; their SHA-256 was "
        rows.append(("Not attached", gone + in_eights(letter.sha256)))
    heads = (letter.number, f"{letter_name(letter.kind)}: {left}")
    yield tabled(heads, [row for row in rows if row[1]], shares=(20, 80), part=part)


def _carried(told: str) -> str:
    """The rung in words; the serial as it is."""
    rung, _, serial = told.partition(" ")
    return f"{kind_words(rung)} {serial}".strip()


def _moment(text: str) -> str:
    """A moment as it is stored, in words, in the hour of its own zone."""
    at = datetime.fromisoformat(text)
    return f"{long_date(at.date())} at {at:%H:%M %Z}"


def _day(text: str) -> str:
    return long_date(date.fromisoformat(text)) if text else ""
