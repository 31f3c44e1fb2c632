"""A brief becomes a LetterContent: every sentence of a letter is decided here.

Consequences come from the ladder alone (`outlook`); what the rulebook does not
state is not threatened.
"""

from __future__ import annotations

from collections.abc import Mapping

from notices.domain import other_work
from notices.domain.briefs import Brief, Words
from notices.domain.cautions import cautions_for
from notices.domain.cleaning import clean
from notices.domain.codes import printed_code
from notices.domain.content import (
    Labelled,
    LetterContent,
    LinkWords,
    OtherText,
    Section,
)
from notices.domain.headlines import headline, place_of
from notices.domain.hearings import disagree
from notices.domain.hindered import valve_sentences, why_hindered
from notices.domain.kinds import BEFORE_DUE_KINDS, LetterKind, Work
from notices.domain.letter_tables import is_long, table
from notices.domain.letterheads import letterhead_of
from notices.domain.outlook import days_asked, next_paragraphs
from notices.domain.own_words import BUILT_IN, OwnWords, fill
from notices.domain.reports_in_hand import report_sentences
from notices.domain.type_names import names_told
from notices.domain.wording import cited, day_in, language_of, sentence_list, title_of


def compose(
    brief: Brief,
    *,
    words: Words,
    second_words: Words | None = None,
    own: OwnWords = BUILT_IN,
    second_own: OwnWords = BUILT_IN,
) -> LetterContent:
    """Return the whole letter in the language of `words`.

    `second_words` adds the headline in the brief's second language, or the whole text where the
    brief says so; `own` and `second_own` are the office's own sentences in either.
    """
    said = _said(brief, words=words, own=own)
    return LetterContent(
        kind=brief.kind,
        work=brief.work.value,
        language=said.language,
        title=said.title,
        letterhead=letterhead_of(brief.sender),
        address_lines=brief.address.lines,
        reference=_reference(brief, words=words),
        headline=said.headline,
        second_language=brief.second_language if second_words else "",
        second_headline=_second_headline(brief, words=second_words),
        paragraphs=said.paragraphs,
        table=said.table,
        steps_heading=said.steps_heading,
        steps=said.steps,
        link=_link(brief, words=words),
        sections=said.sections,
        closing=said.closing,
        cautions=said.cautions,
        foot=_foot(brief, words=words, has_second=second_words is not None),
        page_words=words.gettext("Page %(page)s of %(pages)s"),
        wording=said.wording,
        other=(
            _said(brief, words=second_words, own=second_own)
            if second_words and brief.is_second_whole
            else None
        ),
    )


def _said(brief: Brief, *, words: Words, own: OwnWords) -> OtherText:
    """Everything a letter says in one language."""
    language, values = language_of(words), field_values(brief, words=words)
    return OtherText(
        language=language,
        title=title_of(brief.kind, words=words, work=brief.work),
        headline=headline(
            kind=brief.kind,
            items=brief.items,
            by=days_asked(brief),
            words=words,
            language=language,
        ),
        paragraphs=_paragraphs(brief, words=words, own=own, values=values),
        table=table(brief, words=words),
        steps_heading=words.gettext("What to do"),
        steps=_steps(brief, words=words),
        sections=_sections(brief, words=words),
        closing=fill(own.closing, values=values),
        cautions=_cautions(brief, words=words),
        wording=own.number,
    )


def field_values(brief: Brief, *, words: Words) -> dict[str, str]:
    """Return what the fields of an office's own words stand for in this letter."""
    sender = brief.sender
    return {
        "place": place_of(brief.items, words=words),
        "count": f"{len(brief.items):,}",
        "due": day_in(min(item.due_on for item in brief.items), words=words),
        "day": day_in(brief.leaves_on, words=words),
        "number": brief.number,
        "recipient": brief.address.lines[0] if brief.address.lines else "",
        "office": clean(sender.name),
        "phone": clean(sender.phone),
        "email": clean(sender.email),
        "hours": clean(sender.hours),
    }


def _cautions(brief: Brief, *, words: Words) -> tuple[str, ...]:
    if brief.work is not Work.TEST:
        return other_work.cautions(brief.items, words=words)
    return cautions_for(brief.items, words=words)


def _reference(brief: Brief, *, words: Words) -> tuple[Labelled, ...]:
    pairs = [
        Labelled(words.gettext("Date"), day_in(brief.leaves_on, words=words)),
        Labelled(words.gettext("Notice"), title_of(brief.kind, words=words, work=brief.work)),
        Labelled(words.gettext("Reference"), brief.number),
        Labelled(words.gettext("Short code"), printed_code(brief.code)),
    ]
    if brief.is_certified:
        pairs.append(Labelled(words.gettext("Sent by"), words.gettext("certified mail")))
    return tuple(pairs)


def _second_headline(brief: Brief, *, words: Words | None) -> str:
    if words is None:
        return ""
    said = headline(
        kind=brief.kind,
        items=brief.items,
        by=days_asked(brief),
        words=words,
        language=brief.second_language,
    )
    more = words.gettext("The whole letter follows in English.")
    return sentence_list((*said, more if brief.is_second_whole else ""))


def _paragraphs(
    brief: Brief, *, words: Words, own: OwnWords, values: Mapping[str, str]
) -> tuple[str, ...]:
    opening = own.opening or built_in_opening(brief.work, count=len(brief.items), words=words)
    said = [fill(opening, values=values)]
    if brief.work is Work.TEST:
        said.append(cited(_why(brief, words=words), brief.citation))
    else:
        said += other_work.why(brief, words=words)
    if is_long(brief):
        listed = words.gettext("The whole list of %(count)s is at the end of this letter.")
        said.append(listed % {"count": f"{len(brief.items):,}"})
    found = [sentence_list(said), fill(own.explanation, values=values)]
    if brief.replaces:
        corrects = words.gettext(
            "This letter takes the place of our letter %(number)s. That one was mailed too late "
            "for the days it names."
        )
        found.insert(0, corrects % {"number": brief.replaces})
    if brief.work is Work.TEST:
        found.append(sentence_list(valve_sentences(brief.items, words=words)))
        found.append(sentence_list(report_sentences(brief.items, words=words)))
    if brief.work is Work.PROTECTION:
        types = (one for item in brief.items for one in (*item.there, *item.allowed))
        found.append(names_told(types, words=words))
    return tuple(text for text in found if text)


def built_in_opening(work: Work, *, count: int, words: Words) -> str:
    """Return our own first sentence, with its field: what the thing asked for is good for."""
    if work is Work.TEST:
        text = words.ngettext(
            "This assembly keeps used water at %(place)s out of the public drinking water.",
            "These assemblies keep used water at %(place)s out of the public drinking water.",
            count,
        )
    else:
        text = other_work.opening(work, words=words)
    return text % {"place": "{place}"}


def _why(brief: Brief, *, words: Words) -> str:
    several = len(brief.items)
    if brief.kind is LetterKind.REPAIR:
        return why_hindered(brief.items, words=words) or words.ngettext(
            "Its test on the day shown did not meet the limits. It must be repaired and pass "
            "a new test.",
            "The tests on the days shown did not meet the limits. Each must be repaired and pass "
            "a new test.",
            several,
        )
    if brief.kind is LetterKind.TEST_OWED:
        return words.ngettext(
            "A test is owed for the reason shown.",
            "A test of each is owed for the reason shown.",
            several,
        )
    if brief.kind in BEFORE_DUE_KINDS:
        return words.ngettext(
            "It must pass a test by the day shown.",
            "Each must pass a test by the day shown.",
            several,
        )
    return words.ngettext(
        "It had to pass a test by the day shown; our record holds no passing test since.",
        "Each had to pass a test by the day shown; our record holds no passing test since.",
        several,
    )


def _steps(brief: Brief, *, words: Words) -> tuple[str, ...]:
    if brief.work is not Work.TEST:
        return other_work.steps(brief.work, words=words)
    several = len(brief.items)
    first = words.gettext("Ask a tester whom this program accepts. We can tell you who they are.")
    if brief.kind is LetterKind.REPAIR:
        first = words.ngettext(
            "Have the assembly repaired by a person who may do so here, then tested again.",
            "Have the assemblies repaired by a person who may do so here, then tested again.",
            several,
        )
    if brief.kind is LetterKind.SHUTOFF_ORDER:
        first = words.gettext("Call us today, and ask a tester whom this program accepts.")
    return (
        first,
        # 5 to 20 minutes: Caswell Beach NC.
        words.gettext("A test usually needs the water off for 5 to 20 minutes. Agree on a time."),
        words.gettext("The tester sends us the result. You need not write to us."),
        words.ngettext(
            "Is the assembly gone, or the building empty? Call or write to us.",
            "Is an assembly gone, or a building empty? Call or write to us.",
            several,
        ),
    )


def _link(brief: Brief, *, words: Words) -> LinkWords:
    return LinkWords(
        before=words.gettext("Your page: scan the square at the right, or go to"),
        shown_address=clean(brief.sender.shown_address),
        between=words.gettext("and type"),
        code=printed_code(brief.code),
    )


def _sections(brief: Brief, *, words: Words) -> tuple[Section, ...]:
    found = []
    if ahead := next_paragraphs(brief, words=words):
        found.append(Section(heading=words.gettext("What happens next"), paragraphs=ahead))
    heading = words.gettext("If you disagree")
    found.append(Section(heading=heading, paragraphs=(disagree(brief, words=words),)))
    return tuple(found)


def _foot(brief: Brief, *, words: Words, has_second: bool) -> str:
    if has_second and brief.second_language == "es" and not brief.is_second_whole:
        note = words.gettext("English, with a Spanish headline; your page can be read in Spanish")
        return f"{brief.number} \u00b7 {note}"
    return f"{brief.number} \u00b7 {title_of(brief.kind, words=words, work=brief.work)}"
