"""LetterContent: everything a letter says, decided before anything is drawn.

Page, PDF and e-mail read the same object. It is stored with the letter, so that
a letter whose drawing was cut short is drawn later to the same bytes.
"""

from __future__ import annotations

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

    def to_plain(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        return asdict(self)


def content_from_plain(plain: dict[str, Any]) -> LetterContent:
    """Return the content that `to_plain` wrote, after a trip through JSON or not."""
    table = plain["table"]
    return LetterContent(
        kind=plain["kind"],
        work=plain.get("work", "test"),
        language=plain["language"],
        title=plain["title"],
        second_language=plain["second_language"],
        second_headline=plain["second_headline"],
        steps_heading=plain["steps_heading"],
        foot=plain["foot"],
        page_words=plain["page_words"],
        address_lines=tuple(plain["address_lines"]),
        headline=tuple(plain["headline"]),
        paragraphs=tuple(plain["paragraphs"]),
        steps=tuple(plain["steps"]),
        cautions=tuple(plain["cautions"]),
        letterhead=Letterhead(
            name=plain["letterhead"]["name"],
            line=plain["letterhead"]["line"],
            contact=tuple(plain["letterhead"]["contact"]),
        ),
        reference=tuple(Labelled(**pair) for pair in plain["reference"]),
        table=Table(
            heads=tuple(table["heads"]), groups=tuple(_group(group) for group in table["groups"])
        ),
        link=LinkWords(**plain["link"]),
        sections=tuple(
            Section(heading=section["heading"], paragraphs=tuple(section["paragraphs"]))
            for section in plain["sections"]
        ),
    )


def _group(plain: dict[str, Any]) -> RowGroup:
    rows = tuple(Row(cells=tuple(tuple(cell) for cell in row["cells"])) for row in plain["rows"])
    return RowGroup(title=plain["title"], rows=rows)
