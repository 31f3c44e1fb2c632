"""A brief becomes a LetterContent: every sentence of a letter is decided here.

Consequences come from the ladder alone (`outlook`); what the rulebook does not
state is not threatened.
"""

from __future__ import annotations

from datetime import date

from notices.domain import other_work
from notices.domain.briefs import Brief, Item, Words
from notices.domain.cautions import cautions_for
from notices.domain.cleaning import clean
from notices.domain.codes import printed_code
from notices.domain.content import (
    Labelled,
    LetterContent,
    Letterhead,
    LinkWords,
    Row,
    RowGroup,
    Section,
    Table,
)
from notices.domain.headlines import headline, place_of
from notices.domain.hindered import valve_sentences, why_hindered
from notices.domain.kinds import BEFORE_DUE_KINDS, LetterKind, Work
from notices.domain.long_dates import NO_BREAK, long_date
from notices.domain.outlook import days_asked, next_paragraphs
from notices.domain.wording import assembly_lines, cited, sentence_list, title_of, where_lines


def compose(brief: Brief, *, words: Words, second_words: Words | None = None) -> LetterContent:
    """Return the whole letter. `second_words` adds the headline in the brief's second language."""
    lines = headline(
        kind=brief.kind, items=brief.items, by=days_asked(brief), words=words, language="en"
    )
    return LetterContent(
        kind=brief.kind,
        work=brief.work.value,
        language="en",
        title=title_of(brief.kind, words=words, work=brief.work),
        letterhead=_letterhead(brief),
        address_lines=brief.address.lines,
        reference=_reference(brief, words=words),
        headline=lines,
        second_language=brief.second_language if second_words else "",
        second_headline=_second_headline(brief, words=second_words),
        paragraphs=_paragraphs(brief, words=words),
        table=_table(brief, words=words),
        steps_heading=words.gettext("What to do"),
        steps=_steps(brief, words=words),
        link=_link(brief, words=words),
        sections=_sections(brief, words=words),
        cautions=_cautions(brief, words=words),
        foot=_foot(brief, words=words, has_second=second_words is not None),
        page_words=words.gettext("Page %(page)s of %(pages)s"),
    )


def _cautions(brief: Brief, *, words: Words) -> tuple[str, ...]:
    if brief.work is not Work.TEST:
        return other_work.cautions(brief.items, words=words)
    return cautions_for(brief.items, words=words)


def _letterhead(brief: Brief) -> Letterhead:
    sender = brief.sender
    reached = ", ".join(part for part in (clean(sender.phone), clean(sender.hours)) if part)
    contact = tuple(part for part in (reached, clean(sender.email)) if part)
    return Letterhead(name=clean(sender.name), line=clean(sender.line), contact=contact)


def _reference(brief: Brief, *, words: Words) -> tuple[Labelled, ...]:
    pairs = [
        Labelled(words.gettext("Date"), long_date(brief.leaves_on)),
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
    return " ".join(
        headline(
            kind=brief.kind,
            items=brief.items,
            by=days_asked(brief),
            words=words,
            language=brief.second_language,
        )
    )


def _paragraphs(brief: Brief, *, words: Words) -> tuple[str, ...]:
    if brief.work is not Work.TEST:
        return (other_work.paragraph(brief, words=words),)
    several = len(brief.items)
    purpose = words.ngettext(
        "This assembly keeps used water at %(place)s out of the public drinking water.",
        "These assemblies keep used water at %(place)s out of the public drinking water.",
        several,
    ) % {"place": place_of(brief.items, words=words)}
    said = sentence_list([purpose, cited(_why(brief, words=words), brief.citation)])
    valves = valve_sentences(brief.items, words=words)
    return (said, sentence_list(valves)) if valves else (said,)


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


def _table(brief: Brief, *, words: Words) -> Table:
    groups: dict[str, list[Item]] = {}
    for item in brief.items:
        groups.setdefault(item.premises_key, []).append(item)
    return Table(
        heads=(
            _heads(brief.kind, words=words)
            if brief.work is Work.TEST
            else other_work.heads(brief, words=words)
        ),
        groups=tuple(
            RowGroup(
                title=clean(items[0].premises) if len(groups) > 1 else "",
                rows=tuple(_row(item, brief=brief, words=words) for item in items),
            )
            for items in groups.values()
        ),
    )


def _heads(kind: LetterKind, *, words: Words) -> tuple[str, ...]:
    start = (words.gettext("Assembly"), words.gettext("Where"))
    if kind is LetterKind.REPAIR:
        return (
            *start,
            words.gettext("Failed"),
            words.gettext("Pass by"),
            words.gettext("Standing"),
        )
    if kind is LetterKind.TEST_OWED:
        return (*start, words.gettext("Last passed"), words.gettext("Due"), words.gettext("Why"))
    due = words.gettext("Due") if kind in BEFORE_DUE_KINDS else words.gettext("Was due")
    return (*start, words.gettext("Last passed"), due, words.gettext("Standing"))


def _row(item: Item, *, brief: Brief, words: Words) -> Row:
    if item.work is not Work.TEST:
        return other_work.row_of(item, brief=brief, words=words)
    passed = long_date(item.last_passed_on) if item.last_passed_on else words.gettext("none known")
    due, stands = long_date(item.due_on), _stands(item, day=brief.leaves_on, words=words)
    if brief.kind is LetterKind.REPAIR:
        passed = long_date(item.failed_on) if item.failed_on else words.gettext("none known")
        due = long_date(item.cure_by or item.due_on)
    if brief.kind is LetterKind.TEST_OWED:
        stands = item.cause or words.gettext("first test")
    if brief.kind not in BEFORE_DUE_KINDS and item.cure_by:
        due = long_date(item.cure_by)
    return Row(
        cells=(
            assembly_lines(item, words=words),
            where_lines(item, words=words),
            (passed,),
            (due,),
            (stands,),
        )
    )


def _stands(item: Item, *, day: date, words: Words) -> str:
    limit = item.cure_by or item.due_on
    late = (day - limit).days
    if item.failed_on and late <= 0:
        return words.gettext("Failed")
    if late > 0:
        days = words.ngettext("%(days)s day", "%(days)s days", late) % {"days": f"{late:,}"}
        word = words.gettext("Failed") if item.failed_on else words.gettext("Overdue")
        return f"{word}, {days.replace(' ', NO_BREAK)}"
    return words.gettext("Due") if item.last_passed_on else words.gettext("Untested")


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
    found.append(Section(heading=heading, paragraphs=(_disagree(brief, words=words),)))
    return tuple(found)


def _disagree(brief: Brief, *, words: Words) -> str:
    days, reach = days_asked(brief), _reach(brief, words=words)
    if brief.kind is LetterKind.SHUTOFF_ORDER or not days:
        return words.gettext("Call at once: %(reach)s. We can correct an error in the record.") % {
            "reach": reach
        }
    text = words.gettext(
        "Call or write before %(date)s: %(reach)s. Say what is wrong; a person looks at the "
        "record and answers."
    )
    if brief.kind is LetterKind.FINAL:
        text = words.gettext(
            "You may ask to be heard, in person or in writing, before %(date)s: %(reach)s. "
            "We can correct an error in the record. A passing test closes this notice."
        )
    if brief.kind is LetterKind.FINAL and brief.work is not Work.TEST:
        heard = words.gettext(
            "You may ask to be heard, in person or in writing, before %(date)s: %(reach)s. "
            "We can correct an error in the record."
        )
        text = f"{heard} {other_work.closes(brief.work, words=words)}"
    return text % {"date": long_date(min(days)), "reach": reach}


def _reach(brief: Brief, *, words: Words) -> str:
    sender = brief.sender
    ways = [clean(way) for way in (sender.phone, sender.email) if way]
    return words.gettext(" or ").join(ways) or clean(sender.name)


def _foot(brief: Brief, *, words: Words, has_second: bool) -> str:
    if has_second and brief.second_language == "es":
        note = words.gettext("English, with a Spanish headline; your page can be read in Spanish")
        return f"{brief.number} \u00b7 {note}"
    return f"{brief.number} \u00b7 {title_of(brief.kind, words=words, work=brief.work)}"
