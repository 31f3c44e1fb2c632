"""Letters outside the ladders, put together: the text in one language, or in two, and its frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from notices.domain.addresses import AddressBlock
from notices.domain.briefs import Sender, Words
from notices.domain.cleaning import clean
from notices.domain.content import (
    Labelled,
    LetterContent,
    LinkWords,
    OtherText,
    Section,
    Table,
)
from notices.domain.letterheads import letterhead_of
from notices.domain.wording import day_in, language_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What stands around the text of such a letter: who writes to whom, its number and day."""

    kind: str
    number: str
    leaves_on: date
    sender: Sender
    address: AddressBlock
    second_language: str = ""
    is_second_whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """What such a letter says in one language."""

    title: str
    headline: tuple[str, ...]
    paragraphs: tuple[str, ...]
    table: Table
    steps: tuple[str, ...]
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]


def framed(
    frame: Frame,
    *,
    text_in: Callable[[Words], Text],
    words: Words,
    second_words: Words | None = None,
) -> LetterContent:
    """Return the letter; without a link, since it has no page of its own."""
    text = text_in(words)
    second = text_in(second_words) if second_words is not None else None
    is_whole = second is not None and frame.is_second_whole
    return LetterContent(
        kind=frame.kind,
        language=language_of(words),
        title=text.title,
        letterhead=letterhead_of(frame.sender),
        address_lines=frame.address.lines,
        reference=(
            Labelled(words.gettext("Date"), day_in(frame.leaves_on, words=words)),
            Labelled(words.gettext("Notice"), text.title),
            Labelled(words.gettext("Reference"), frame.number),
        ),
        headline=text.headline,
        second_language=frame.second_language if second else "",
        second_headline=" ".join(second.headline) if second else "",
        paragraphs=text.paragraphs,
        table=text.table,
        steps_heading=words.gettext("What to do"),
        steps=text.steps,
        link=LinkWords(before="", shown_address="", between="", code=""),
        sections=text.sections,
        cautions=text.cautions,
        foot=f"{frame.number} \u00b7 {text.title}",
        page_words=words.gettext("Page %(page)s of %(pages)s"),
        other=_other(frame, text=second, words=second_words) if second and is_whole else None,
    )


def reach(sender: Sender, *, words: Words) -> str:
    """Return how the office is reached, or its name where no way is recorded."""
    ways = [clean(way) for way in (sender.phone, sender.email) if way]
    return words.gettext(" or ").join(ways) or clean(sender.name)


def _other(frame: Frame, *, text: Text, words: Words | None) -> OtherText:
    assert words is not None
    return OtherText(
        language=frame.second_language,
        title=text.title,
        headline=text.headline,
        paragraphs=text.paragraphs,
        table=text.table,
        steps_heading=words.gettext("What to do"),
        steps=text.steps,
        sections=text.sections,
        closing="",
        cautions=text.cautions,
    )
