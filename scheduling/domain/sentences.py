"""A rulebook as plain numbered sentences, made from the data and always in the same order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from scheduling.domain.rule_sentences import (
    credential_sentences,
    event_words,
    hindrance_words,
    owed_words,
    protection_words,
    provision_words,
    ratio_words,
    repeat_words,
    report_words,
)
from scheduling.domain.rulebook import DaysRule, Rule, Rulebook, WorkKind
from scheduling.domain.rung_sentences import rung_words
from scheduling.domain.rungs import Trigger
from scheduling.domain.sentence_words import Piece, Words, days, listed, plain, subject, value
from scheduling.domain.sources import Mark, Source

ALONE = -1
"""The place of a rule of which there is only one."""

_MARKS = {
    Mark.READ: "read",
    Mark.MEMORY: "from memory",
    Mark.PRACTICE: "common practice",
    Mark.LOCAL: "set here",
}


class Section(StrEnum):
    """The headings sentences stand under, in their order."""

    OWED = "When work is owed"
    FAILED = "When a test fails, or cannot be done"
    DATES = "How dates are kept"
    JUDGED = "What a test must be backed by"
    BESIDES = "What else is asked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """One rule: its table and place in the rulebook, its words, and how far to trust it.

    `number` counts through the whole rulebook; `step` is a rung's place on the ladder.
    """

    part: str
    place: int
    name: str
    section: Section
    parts: tuple[Piece, ...]
    citation: str
    mark: str = ""
    transcribed_on: date | None = None
    rule_number: str = ""
    number: int = 0
    step: int = 0

    @property
    def text(self) -> str:
        """The sentence in one piece."""
        return "".join(words for words, _ in self.parts)


@dataclass(slots=True)
class _Page:
    """Sentences under way, numbered as they come."""

    found: list[Sentence]

    def add(
        self, words: Words, *, part: str, place: int, rule: Rule, section: Section, step: int = 0
    ) -> None:
        self.say(
            words,
            part=part,
            place=place,
            name=rule.id,
            section=section,
            citation=rule.citation,
            source=rule.source,
            step=step,
        )

    def say(
        self,
        words: Words,
        *,
        part: str,
        place: int,
        name: str,
        section: Section,
        citation: str,
        source: Source,
        step: int = 0,
    ) -> None:
        self.found.append(
            Sentence(
                part=part,
                place=place,
                name=name,
                section=section,
                parts=plain(words),
                citation=citation,
                mark=mark_of(source=source, citation=citation),
                transcribed_on=source.transcribed_on,
                rule_number=source.number,
                number=len(self.found) + 1,
                step=step,
            )
        )


def mark_of(*, source: Source, citation: str) -> str:
    """How far a rule may be trusted: by its mark, else where its citation says so itself."""
    if source.mark is not Mark.UNMARKED:
        return _MARKS[source.mark]
    text = citation.lower()
    if "from memory" in text or "[memory]" in text:
        return "from memory"
    if "practice" in text:
        return "common practice"
    return "read" if "[read]" in text else ""


def rule_sentences(book: Rulebook) -> tuple[Sentence, ...]:
    """Return every rule but the ladder's as a numbered sentence.

    The order is always that of what a person asks: what is owed and how often, what a
    failure brings, how dates are kept, what a test is judged and backed by, and the rest.
    """
    page = _Page([])
    _say_what_is_owed(page, book)
    _say_what_a_failure_brings(page, book)
    _say_how_dates_are_kept(page, book)
    _say_what_backs_a_test(page, book)
    _say_what_else(page, book)
    return tuple(page.found)


def ladder_sentences(book: Rulebook) -> tuple[Sentence, ...]:
    """Return the ladder as sentences, from the ground up; `step` counts those from the due day."""
    page = _Page([])
    step = 0
    for place, rung in enumerate(book.ladder.rungs):
        is_numbered = rung.trigger is Trigger.DUE and not rung.kinds
        step += is_numbered
        page.say(
            rung_words(rung),
            part="rung",
            place=place,
            name=rung.key,
            section=Section.OWED,
            citation=rung.citation,
            source=rung.source,
            step=step if is_numbered else 0,
        )
    return tuple(page.found)


def _say_what_is_owed(page: _Page, book: Rulebook) -> None:
    section = Section.OWED
    if len(book.kinds) > 1:
        for place, kind in enumerate(book.kinds):
            page.say(
                _kind_words(kind), part="kind", place=place, name=kind.name, section=section,
                citation="What meets what, as this rulebook reads", source=Source(),
            )  # fmt: skip
    for place, rule in enumerate(book.exempt):
        who = subject(rule.match, rest="No assembly")
        page.add(
            [*who, " owes no ", value(_work(rule.kind)), "."],
            part="exempt", place=place, rule=rule, section=section,
        )  # fmt: skip
    seen: set[str] = set()
    for place, cycle in enumerate(book.cycles):
        noun = _noun(book, cycle.kind)
        words = owed_words(cycle, is_first=cycle.kind not in seen, noun=noun)
        page.add(words, part="cycle", place=place, rule=cycle, section=section)
        seen.add(cycle.kind)
    for place, repeat in enumerate(book.repeats):
        page.add(repeat_words(repeat), part="repeat", place=place, rule=repeat, section=section)
    for place, event in enumerate(book.events):
        page.add(event_words(event), part="event", place=place, rule=event, section=section)


def _kind_words(kind: WorkKind) -> Words:
    return [
        "An obligation of kind ",
        value(kind.name),
        f" is about {_about(kind)} and is met by ",
        *listed(kind.met_by),
        ".",
    ]


def _about(kind: WorkKind) -> str:
    word = kind.subject.value
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}" if word != "premises" else "a premises"


def _work(kind: str) -> str:
    return "field test" if kind == "test" else kind


def _noun(book: Rulebook, kind: str) -> str:
    return next((one.subject.value for one in book.kinds if one.name == kind), "assembly")


def _say_what_a_failure_brings(page: _Page, book: Rulebook) -> None:
    section = Section.FAILED
    for place, rule in enumerate(book.cures):
        who = subject(rule.match, rest="Any other assembly" if place else "Every assembly")
        within = days(rule.days, is_working=rule.is_working)
        page.add(
            [*who, " that failed is repaired and passes within ", within, "."],
            part="cure", place=place, rule=rule, section=section,
        )  # fmt: skip
    for place, hindrance in enumerate(book.hindrances):
        words = hindrance_words(hindrance)
        page.add(words, part="hindrance", place=place, rule=hindrance, section=section)


def _say_how_dates_are_kept(page: _Page, book: Rulebook) -> None:
    told: Sequence[tuple[str, DaysRule, str, str]] = (
        ("grace", book.grace, "Back in use after an idle time, it has ", " of grace."),
        (
            "no_date",
            book.no_date,
            "Where no date is known, it is due ",
            " after the first fact, or after it was recorded.",
        ),
        (
            "transition",
            book.transition,
            "A changed rule makes nobody due sooner than ",
            " after it takes effect.",
        ),
    )
    for part, rule, before, after in told:
        if rule.is_given:
            words: Words = [before, days(rule.days, is_working=rule.is_working), after]
            page.add(words, part=part, place=ALONE, rule=rule, section=Section.DATES)


def _say_what_backs_a_test(page: _Page, book: Rulebook) -> None:
    section = Section.JUDGED
    for part, words, citation, source in credential_sentences(book):
        page.say(
            words, part=part, place=ALONE, name=part, section=section,
            citation=citation, source=source,
        )  # fmt: skip
    for place, rule in enumerate(book.reports):
        page.add(report_words(rule), part="report", place=place, rule=rule, section=section)


def _say_what_else(page: _Page, book: Rulebook) -> None:
    section = Section.BESIDES
    for place, protection in enumerate(book.protections):
        words = protection_words(protection)
        page.add(words, part="protection", place=place, rule=protection, section=section)
    for place, ratio in enumerate(book.ratios):
        page.add(ratio_words(ratio), part="ratio", place=place, rule=ratio, section=section)
    for place, provision in enumerate(book.provisions):
        words = provision_words(provision)
        page.add(words, part="provision", place=place, rule=provision, section=section)


def in_sections(sentences: Iterable[Sentence]) -> list[tuple[Section, list[Sentence]]]:
    """Return the sentences under their headings, headings without any left out."""
    found = list(sentences)
    sections = [(one, [s for s in found if s.section is one]) for one in Section]
    return [(section, mine) for section, mine in sections if mine]
