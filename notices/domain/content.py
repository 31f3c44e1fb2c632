"""LetterContent: everything a letter says, decided before anything is drawn.

Page, PDF and e-mail read the same object. It is stored with the letter, so that
a letter whose drawing was cut short is drawn later to the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Labelled:
    """A label and its value, e.g. Date and November 3, 2025."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Letterhead:
    """Who writes: name and line on the left, two contact lines on the right."""

    name: str
    line: str
    contact: tuple[str, ...]
    colour: str = ""
    logo: str = ""
    paper: str = ""
    """Sheet and envelope as `Envelope.words`; empty: US Letter in a #10."""


@dataclass(frozen=True, slots=True)
class Row:
    """One assembly of the table; a cell holds one or more lines."""

    cells: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class RowGroup:
    """The assemblies of one premises; the title is empty where the letter has one premises."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """What is owed: heads, then rows grouped by premises."""

    heads: tuple[str, ...]
    groups: tuple[RowGroup, ...]
    title: str = ""
    """Of a long one, which stands at the end: what to do comes before pages of rows."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with its paragraphs."""

    heading: str
    paragraphs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LinkWords:
    """The words beside the QR; the link itself is secret and handed to the rendering apart."""

    before: str
    shown_address: str
    between: str
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherText:
    """Everything a letter says in one language; `wording` is the number of the office's words.

    0 is the built-in wording.
    """

    language: str
    title: str
    headline: tuple[str, ...]
    paragraphs: tuple[str, ...]
    table: Table
    steps_heading: str
    steps: tuple[str, ...]
    sections: tuple[Section, ...]
    closing: str
    cautions: tuple[str, ...]
    wording: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterContent:
    """A letter in words. `page_words` takes %(page)s and %(pages)s."""

    kind: str
    language: str
    title: str
    letterhead: Letterhead
    address_lines: tuple[str, ...]
    reference: tuple[Labelled, ...]
    headline: tuple[str, ...]
    second_language: str
    second_headline: str
    paragraphs: tuple[str, ...]
    table: Table
    steps_heading: str
    steps: tuple[str, ...]
    link: LinkWords
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]
    foot: str
    page_words: str
    work: str = "test"
    closing: str = ""
    wording: int = 0
    """The number of the office's own wording; 0 is the built-in one."""

    other: OtherText | None = None
    """The whole text again in the second language, where the program says so."""

    def to_plain(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        return asdict(self)


def prose_of(said: LetterContent | OtherText) -> tuple[str, ...]:
    """Return what a person reads as sentences: not the table, not the labels."""
    return (
        *said.headline,
        *said.paragraphs,
        *said.steps,
        *(text for section in said.sections for text in section.paragraphs),
        *filter(None, [said.closing]),
        *said.cautions,
    )


def wording_words(plain: Mapping[str, Any]) -> str:
    """Say whose sentences a stored letter has: `en: built in; es: the office's own, 3`."""
    said = [plain, *filter(None, [plain.get("other")])]
    return "; ".join(
        f"{one['language']}: "
        + (f"the office\u2019s own, {one['wording']}" if one.get("wording") else "built in")
        for one in said
        if one.get("language")
    )


def content_from_plain(plain: dict[str, Any]) -> LetterContent:
    """Return the content that `to_plain` wrote, after a trip through JSON or not."""
    head, other = plain["letterhead"], plain.get("other")
    return LetterContent(
        kind=plain["kind"],
        work=plain.get("work", "test"),
        second_language=plain["second_language"],
        second_headline=plain["second_headline"],
        foot=plain["foot"],
        page_words=plain["page_words"],
        address_lines=tuple(plain["address_lines"]),
        letterhead=Letterhead(
            name=head["name"],
            line=head["line"],
            contact=tuple(head["contact"]),
            colour=head.get("colour", ""),
            logo=head.get("logo", ""),
            paper=head.get("paper", ""),
        ),
        reference=tuple(Labelled(**pair) for pair in plain["reference"]),
        link=LinkWords(**plain["link"]),
        other=OtherText(**_said(other)) if other else None,
        **_said(plain),
    )


def _said(plain: dict[str, Any]) -> dict[str, Any]:
    """What a letter says in one language, as `LetterContent` and `OtherText` both hold it."""
    return {
        "language": plain["language"],
        "title": plain["title"],
        "headline": tuple(plain["headline"]),
        "paragraphs": tuple(plain["paragraphs"]),
        "table": Table(
            heads=tuple(plain["table"]["heads"]),
            groups=tuple(_group(group) for group in plain["table"]["groups"]),
            title=plain["table"].get("title", ""),
        ),
        "steps_heading": plain["steps_heading"],
        "steps": tuple(plain["steps"]),
        "sections": tuple(
            Section(heading=section["heading"], paragraphs=tuple(section["paragraphs"]))
            for section in plain["sections"]
        ),
        "closing": plain.get("closing", ""),
        "cautions": tuple(plain["cautions"]),
        "wording": plain.get("wording", 0),
    }


def _group(plain: dict[str, Any]) -> RowGroup:
    rows = tuple(Row(cells=tuple(tuple(cell) for cell in row["cells"])) for row in plain["rows"])
    return RowGroup(title=plain["title"], rows=rows)
