"""Which assemblies a draft moves, one by one: read in order of their ids, nothing is written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from registry.models import Assembly, Program
from scheduling.domain.comparing import Side
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
from scheduling.queries.alike import alike_in, asked_of
from scheduling.queries.comparing import Question
from scheduling.queries.sides import Dated, attributes_on, is_in_gap, owed_by_kind
from scheduling.queries.subjects import Subject, subjects

AT_A_TIME: Final = 5_000
"""Assemblies looked at between two answers."""

HISTORIES: Final = 500
"""Histories held in memory at a time."""


class Which(StrEnum):
    """Which moves are asked for."""

    ALL = "all"
    EARLIER = "earlier"
    LATER = "later"
    AT_ONCE = "overdue at once"
    OTHERWISE = "begin or end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A due date of one assembly under the rules in force and under the draft.

    `now` None: owed under the draft only; `then` None: owed now only.
    """

    assembly_id: int
    kind: str
    now: date | None
    then: date | None
    is_overdue_at_once: bool

    @property
    def days(self) -> int | None:
        """By how many days it moves; negative: earlier."""
        return (self.then - self.now).days if self.now and self.then else None

    def belongs_to(self, which: Which) -> bool:
        """Whether it is among those asked for."""
        days = self.days
        return {
            Which.ALL: True,
            Which.EARLIER: days is not None and days < 0,
            Which.LATER: days is not None and days > 0,
            Which.AT_ONCE: self.is_overdue_at_once,
            Which.OTHERWISE: days is None,
        }[which]


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """The moves among one batch of assemblies, and the last id of the batch."""

    moves: tuple[Move, ...]
    last_id: int


def moves_after(*, question: Question, after: int, which: Which) -> Iterator[Looked]:
    """Yield batch after batch of the assemblies after an id, with those that move.

    What the draft does not say yet (a gap) moves nothing. Memory does not grow. Assemblies that
    stand alike are worked out once; only the others have their histories read.
    """
    program = question.program
    while ids := _next_ids(program, after=after):
        found, rest = _moves_of_groups(question, ids=ids, after=after)
        for start in range(0, len(rest), HISTORIES):
            found += _moves_of_histories(question, ids=rest[start : start + HISTORIES])
        after = ids[-1]
        found.sort(key=lambda move: move.assembly_id)
        yield Looked(moves=tuple(one for one in found if one.belongs_to(which)), last_id=after)


def _moves_of_groups(
    question: Question, *, ids: Sequence[int], after: int
) -> tuple[list[Move], list[int]]:
    """Return the moves of those that stand alike, and the ids whose histories must be read."""
    books, kept = question.books, question.kept
    groups = alike_in(program=question.program, low=after, high=ids[-1], books=books)
    found: list[Move] = []
    rest: list[int] = []
    for pk in ids:
        group = groups.get(pk)
        pairs = None if group is None else asked_of(group, books=books, kept=kept)
        if pairs is None:
            rest.append(pk)
            continue
        sides = (_between(pk, kind=books.in_force.main_kind, now=a, then=b) for a, b in pairs)
        found += [move for move in sides if move is not None]
    return found, rest


def _moves_of_histories(question: Question, *, ids: Sequence[int]) -> list[Move]:
    books = question.books.now
    found = subjects(program=question.program, assembly_ids=ids, rulebooks=books)
    return [move for subject in found for move in _moves(subject, question=question)]


def _between(pk: int, *, kind: str, now: Side, then: Side) -> Move | None:
    is_at_once = then.is_overdue and not now.is_overdue
    if now.due_on == then.due_on and not is_at_once:
        return None
    return Move(
        assembly_id=pk,
        kind=kind,
        now=now.due_on,
        then=then.due_on,
        is_overdue_at_once=is_at_once,
    )


def _next_ids(program: Program, *, after: int) -> list[int]:
    rows = Assembly.objects.filter(program=program, pk__gt=after).order_by("pk")
    return list(rows.values_list("pk", flat=True)[:AT_A_TIME])


def _moves(subject: Subject, *, question: Question) -> Iterator[Move]:
    books, day = question.books, question.effective_on
    if is_in_gap(books.draft, attributes_on(subject, day=day)):
        return
    now = owed_by_kind(_ledger(subject, rulebooks=books.now, day=day))
    then = owed_by_kind(_ledger(subject, rulebooks=books.then, day=day))
    for kind in dict.fromkeys([*now, *then]):
        move = _between(
            subject.assembly_id,
            kind=kind,
            now=_side(now.get(kind), day=day),
            then=_side(then.get(kind), day=day),
        )
        if move is not None:
            yield move


def _ledger(subject: Subject, *, rulebooks: Dated, day: date) -> Ledger:
    timeline = replace(subject.timeline, rulebooks=rulebooks)
    return replay(timeline=timeline, facts=subject.facts, left={}, as_of=day)


def _side(obligation: Obligation | None, *, day: date) -> Side:
    due_on = obligation.due_on if obligation else None
    return Side(due_on=due_on, is_overdue=_is_overdue(obligation, day=day), letters=())


def _is_overdue(obligation: Obligation | None, *, day: date) -> bool:
    if obligation is None or not obligation.is_open or obligation.is_suspended:
        return False
    return obligation.due_on < day
