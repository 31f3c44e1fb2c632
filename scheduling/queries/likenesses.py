"""What assemblies share with others, worked out from histories beside what is stored."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from registry.models import Program
from scheduling.domain.likeness import HISTORY_COUNTS, likeness_of, rounds_of
from scheduling.domain.replay import replay
from scheduling.queries.histories import History, histories
from scheduling.queries.rulebooks import books_of

AT_ONCE = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The likeness and rounds of an assembly as replay gives them.

    `says_what_is_stored`: whether the dates of its row are those of that replay too;
    `is_contradicted`: whether a likeness is stored, of it or of what it owes, that is another.
    """

    assembly_id: int
    words: str
    rounds: int | None
    says_what_is_stored: bool
    is_contradicted: bool


def judged(*, program: Program, ids: Sequence[int], as_of: date) -> Iterator[Judged]:
    """Yield the assemblies of these ids, their histories read a few thousand at a time."""
    if not ids:
        return
    books = books_of(program)
    for start in range(0, len(ids), AT_ONCE):
        some = ids[start : start + AT_ONCE]
        for one in histories(program=program, ids=some, books=books, dates=("likeness",)):
            yield _judged(one, as_of=as_of)


def _judged(one: History, *, as_of: date) -> Judged:
    subject = one.subject
    ledger = replay(timeline=subject.timeline, facts=subject.facts, left={}, as_of=as_of)
    alike = likeness_of(shapes=subject.timeline.attributes, facts=subject.facts, ledger=ledger)
    words = alike.words if alike is not None else ""
    rounds = rounds_of(subject.facts) if alike is not None else HISTORY_COUNTS
    stored = [(row["likeness"], row["rounds"]) for row in one.unclosed if row["likeness"]]
    kept = one.state["likeness"] if one.state is not None else ""
    current = ledger.current
    return Judged(
        assembly_id=subject.assembly_id,
        words=words,
        rounds=rounds,
        says_what_is_stored=current is not None
        and [(row["origin"], row["period"], row["opens_on"], row["due_on"]) for row in one.unclosed]
        == [(current.key.origin_text, current.key.period_text, current.opens_on, current.due_on)],
        is_contradicted=(bool(kept) and kept != words)
        or any(each != (words, rounds) for each in stored),
    )
