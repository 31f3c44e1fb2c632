"""The words of letters that answer: a correction, a decision, a report that does not count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from notices.domain import other_work
from notices.domain.briefs import Item, Sender, Words
from notices.domain.cleaning import capital, clean
from notices.domain.content import Row, RowGroup, Section, Table
from notices.domain.extra_kinds import TITLES, ExtraKind, title_of_kind
from notices.domain.headlines import place_of
from notices.domain.in_hand import ReportInHand
from notices.domain.kinds import Work
from notices.domain.plain_letters import Text, reach
from notices.domain.reports_in_hand import why_sentences
from notices.domain.wording import (
    assembly_lines,
    day_in,
    hazard_words,
    sentence_list,
    where_lines,
)

LONGEST_REASON = 600
"""Letters of a person's reason that are printed."""


class Error(StrEnum):
    """Why a notice was sent in error, as its letter of correction says it."""

    PASSED = "passed"  # a test had passed before it left
    DONE = "done"  # protection, or a survey, was there before it left
    RECORD = "record"  # the record was wrong in another way


class Outcome(StrEnum):
    """How an objection was decided."""

    UPHELD = "upheld"
    REJECTED = "rejected"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """A letter that was sent in error: its kind, number and day, and why it was wrong."""

    kind: str
    number: str
    left_on: date
    error: Error
    work: Work = Work.TEST


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """An objection and its decision; `words` are the person's own, in the office's language."""

    raised_on: date
    decided_on: date
    decided_by: str
    outcome: Outcome
    words: str
    is_appeal: bool = False


def correction(
    wrong: Wrong, *, items: Sequence[Item], open_ones: frozenset[str], sender: Sender,
    words: Words,
) -> Text:  # fmt: skip
    """Say that an earlier letter counts for nothing; `open_ones` still owe something."""
    named = {
        "title": title_of_kind(wrong.kind, words=words, work=wrong.work),
        "date": day_in(wrong.left_on, words=words),
        "number": wrong.number,
    }
    why = words.gettext("Our record was wrong and has been corrected.")
    if wrong.error is Error.PASSED:
        why = words.gettext("A test had passed before it left; its report reached us later.")
    if wrong.error is Error.DONE:
        why = words.gettext("It had been done before the letter left; we learned of it later.")
    after = words.gettext("Nothing follows from the earlier letter.")
    if open_ones:
        after = (
            words.gettext("Where a test is still owed, a new letter says by when.")
            if wrong.work is Work.TEST
            else words.gettext("Where something is still owed, a new letter says by when.")
        )
    return Text(
        title=words.gettext(TITLES[ExtraKind.CORRECTION]),
        headline=(
            words.gettext("Our letter of %(date)s was sent in error.") % named,
            words.gettext("It counts for nothing for what is shown below."),
        ),
        paragraphs=(
            sentence_list(
                [
                    words.gettext("We mean this letter: %(title)s, reference %(number)s.") % named,
                    why,
                ]
            ),
            words.gettext("We are sorry for the trouble."),
        ),
        table=_table(items, open_ones=open_ones, words=words, work=wrong.work),
        steps=(
            words.gettext("You need not do anything because of the earlier letter."),
            words.gettext("Keep this letter together with it."),
            words.gettext("Is something still wrong? Call us: %(reach)s.")
            % {"reach": reach(sender, words=words)},
        ),
        sections=(Section(heading=words.gettext("What happens next"), paragraphs=(after,)),),
        cautions=(),
    )


def decision(
    decided: Decided,
    *,
    items: Sequence[Item],
    open_ones: frozenset[str],
    sender: Sender,
    words: Words,
) -> Text:
    """Say how an objection was decided, by whom and why, and what follows."""
    is_upheld = decided.outcome is Outcome.UPHELD
    told = {
        "raised": day_in(decided.raised_on, words=words),
        "decided": day_in(decided.decided_on, words=words),
        "name": clean(decided.decided_by),
        "place": place_of(items, words=words) if items else clean(sender.name),
    }
    second = (
        words.gettext("We agree with you.") if is_upheld else words.gettext("Our notices stand.")
    )
    reason = clean(decided.words, cap=LONGEST_REASON).rstrip(". ")
    follows = (
        words.gettext("Our earlier notices about what is shown count for nothing.")
        if is_upheld
        else words.gettext(
            "The days from your objection to this decision are not counted against you. The "
            "earlier notice goes on from where it stood."
        )
    )
    return Text(
        title=words.gettext(TITLES[ExtraKind.DECISION]),
        headline=(
            words.gettext("Your objection about %(place)s is decided.") % told,
            second,
        ),
        paragraphs=(
            words.gettext("You objected on %(raised)s. %(name)s decided on %(decided)s.") % told,
            words.gettext("The reason: %(reason)s.") % {"reason": reason},
        ),
        table=_table(items, open_ones=open_ones, words=words),
        steps=_after_decision(is_upheld=is_upheld, sender=sender, words=words),
        sections=(Section(heading=words.gettext("What happens next"), paragraphs=(follows,)),),
        cautions=(),
    )


def report_not_counted(report: ReportInHand, *, item: Item, sender: Sender, words: Words) -> Text:
    """Say that a report came in and does not count, why, and what mends it."""
    told = {
        "day": day_in(report.tested_on, words=words),
        "place": place_of([item], words=words),
        "reach": reach(sender, words=words),
    }
    came = words.gettext("We have the report of the test on %(day)s. It does not count.") % told
    lacks = sentence_list([came, *why_sentences(report.lacks, words=words)])
    ask = words.gettext("Show this letter to the tester who tested on %(day)s.") % told
    return Text(
        title=words.gettext(TITLES[ExtraKind.REPORT]),
        headline=(
            words.gettext("A test report for %(place)s does not count.") % told,
            words.gettext("Something must be sent or mended first."),
        ),
        paragraphs=(lacks,),
        table=_table([item], open_ones=frozenset({name_of(item)}), words=words),
        steps=(
            ask,
            words.gettext("Once a report counts we close the matter. You need not write to us."),
            words.gettext("Do you have a question? Call us: %(reach)s.") % told,
        ),
        sections=(
            Section(
                heading=words.gettext("What happens next"),
                paragraphs=(
                    words.gettext("Until a report counts, the test stays owed by the day shown."),
                ),
            ),
        ),
        cautions=(),
    )


def name_of(item: Item) -> str:
    """Return what tells one thing of a letter apart: a serial, else what a service is called."""
    return item.serial or item.location or item.premises


def _which(named: dict[str, str], *, words: Words) -> str:
    return words.gettext("We mean this letter: %(title)s, reference %(number)s.") % named


def _after_decision(*, is_upheld: bool, sender: Sender, words: Words) -> tuple[str, ...]:
    call = words.gettext("Is the record still wrong? Call us: %(reach)s.") % {
        "reach": reach(sender, words=words)
    }
    if is_upheld:
        return (words.gettext("You need not do anything because of the earlier notices."), call)
    return (
        words.gettext("Please do what the earlier notice asks."),
        words.gettext("Do you still disagree? Ask us who can look at the decision again."),
        call,
    )


def _table(
    items: Sequence[Item], *, open_ones: frozenset[str], words: Words, work: Work = Work.TEST
) -> Table:
    groups: dict[str, list[Row]] = {}
    titles: dict[str, str] = {}
    for item in items:
        is_open = name_of(item) in open_ones
        now = words.gettext("owed") if is_open else words.gettext("nothing owed")
        row = Row(cells=(*_cells(item, words=words), (capital(now),)))
        groups.setdefault(item.premises_key, []).append(row)
        titles[item.premises_key] = clean(item.premises)
    return Table(
        heads=(*_heads(work, words=words), words.gettext("Due"), words.gettext("Now")),
        groups=tuple(
            RowGroup(title=titles[key] if len(groups) > 1 else "", rows=tuple(rows))
            for key, rows in groups.items()
        ),
    )


def _heads(work: Work, *, words: Words) -> tuple[str, ...]:
    if work is Work.SURVEY:
        return (words.gettext("Premises"), words.gettext("Hazard"), words.gettext("Last surveyed"))
    if work is Work.PROTECTION:
        asked = words.gettext("What we asked for")
        return (words.gettext("Service"), words.gettext("Premises"), asked)
    return (words.gettext("Assembly"), words.gettext("Where"), words.gettext("Last passed"))


def _cells(item: Item, *, words: Words) -> tuple[tuple[str, ...], ...]:
    due = (day_in(item.cure_by or item.due_on, words=words),)
    last = item.last_passed_on
    told = (day_in(last, words=words) if last else capital(words.gettext("none known")),)
    premises = (clean(item.premises, cap=120),)
    if item.work is Work.SURVEY:
        return (premises, (capital(hazard_words(item.hazard, words=words)),), told, due)
    if item.work is Work.PROTECTION:
        service = other_work.service_lines(item, words=words)[:1]
        return (service, premises, (other_work.types_words(item.allowed, words=words),), due)
    return (assembly_lines(item, words=words), where_lines(item, words=words), told, due)
