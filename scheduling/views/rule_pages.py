"""A rulebook as pages show it: sentences under headings, each with how many it catches."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from scheduling.domain.catching import Caught
from scheduling.domain.draft_tables import TABLE_OF
from scheduling.domain.filling import is_filled
from scheduling.domain.gaps import Gap, Part
from scheduling.domain.rulebook import Attributes, CycleRule, Regime, Rulebook
from scheduling.domain.sentences import (
    ALONE,
    Section,
    Sentence,
    in_sections,
    ladder_sentences,
    rule_sentences,
)
from scheduling.queries.shapes import caught_by_gaps, caught_by_rules

COUNTED = {"exempt", "cycle", "repeat", "event", "cure", "hindrance"}
"""The tables whose rules decide about assemblies one by one."""

BY_ASSEMBLY = {Part.CYCLE, Part.EVENT, Part.CURE, Part.HINDRANCE}
"""The parts of which a gap leaves assemblies without a rule."""

NOTES = {
    Section.OWED: "the first rule that fits is the one that counts",
    Section.DATES: "a due date never rolls later for a weekend",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A sentence with the number of assemblies its rule decides about; None: not counted."""

    sentence: Sentence
    count: int | None

    @property
    def place(self) -> int:
        """The rule's place in its table as addresses count, from 1."""
        return 1 if self.sentence.place == ALONE else self.sentence.place + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownGap:
    """A gap, how many assemblies fall in it, and the person's decision to do without."""

    gap: Gap
    place: int
    count: int
    waived: str
    rule: int
    """The place of the rule that would have to say it, from 1; 0: a rule is added."""
    is_filled: bool
    """Whether rules stand for all that the gap is about, so that it may be closed."""

    @property
    def table(self) -> str:
        """The table in which a rule would fill it."""
        return TABLE_OF[self.gap.part]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadBook:
    """A rulebook ready to be read."""

    book: Rulebook
    sections: list[tuple[Section, str, list[Shown]]]
    ladder: list[Shown]
    gaps: list[ShownGap]


def read_book(book: Rulebook, *, shapes: Counter[Attributes] | None) -> ReadBook:
    """Return a rulebook as sentences; `shapes` None: nobody is counted."""
    caught = caught_by_rules(rulebook=book, shapes=shapes) if shapes is not None else None
    sections = [
        (section, NOTES.get(section, ""), [_shown(one, caught) for one in sentences])
        for section, sentences in in_sections(rule_sentences(book))
    ]
    return ReadBook(
        book=book,
        sections=sections,
        ladder=[_shown(one, None) for one in ladder_sentences(book)],
        gaps=_gaps(book, shapes=shapes),
    )


def _shown(sentence: Sentence, caught: Counter[Caught] | None) -> Shown:
    is_counted = caught is not None and sentence.part in COUNTED
    count = caught[(sentence.part, sentence.place)] if caught is not None and is_counted else None
    return Shown(sentence=sentence, count=count)


def _gaps(book: Rulebook, *, shapes: Counter[Attributes] | None) -> list[ShownGap]:
    counts = caught_by_gaps(rulebook=book, shapes=shapes or Counter())
    waived = {one.gap: one for one in book.waivers}
    return [
        ShownGap(
            gap=gap,
            place=place,
            count=counts.get(gap.name, 0) if gap.part in BY_ASSEMBLY else 0,
            waived=f"{waived[gap.name].by} on {waived[gap.name].on}: {waived[gap.name].reason}"
            if gap.name in waived
            else "",
            rule=_rule_that_lacks(book, gap),
            is_filled=is_filled(book, gap),
        )
        for place, gap in enumerate(book.gap_list, start=1)
    ]


_SILENT: Final[dict[Part, Callable[[CycleRule], bool]]] = {
    Part.OPENING: lambda rule: rule.regime is not Regime.SEASON and rule.opens_days <= 0,
    Part.WINDOW: lambda rule: rule.regime is Regime.ANNIVERSARY and rule.early_days <= 0,
    Part.CREDIT: lambda rule: rule.regime is Regime.SEASON and rule.credit_from is None,
}
"""Of which rules of how often these gaps are: one after the other says what it lacks."""


def _rule_that_lacks(book: Rulebook, gap: Gap) -> int:
    """The rule in which a gap is filled, where one stands already."""
    if gap.part in _SILENT:
        lacks = _SILENT[gap.part]
        return next((place for place, rule in enumerate(book.cycles, 1) if lacks(rule)), 0)
    has_other_half = {
        Part.GAUGE: book.credentials.tester is not None,
        Part.TESTER: book.credentials.is_given,
    }
    return int(has_other_half.get(gap.part, False))
