"""Which assemblies a draft moves, one by one: read in order of their ids, nothing is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from registry.models import Assembly, Program
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
from scheduling.queries.comparing import Question
from scheduling.queries.sides import Dated, attributes_on, is_in_gap, owed_by_kind
from scheduling.queries.subjects import Subject, subjects

AT_A_TIME: Final = 500
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

    What the draft does not say yet (a gap) moves nothing. Memory does not grow.
    """
    program = question.program
    while ids := _next_ids(program, after=after):
        found = [
            move
            for subject in subjects(program=program, assembly_ids=ids, rulebooks=question.books.now)
            for move in _moves(subject, question=question)
            if move.belongs_to(which)
        ]
        after = ids[-1]
        yield Looked(moves=tuple(found), last_id=after)


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
        before, after = now.get(kind), then.get(kind)
        due_now, due_then = _due(before), _due(after)
        is_at_once = _is_overdue(after, day=day) and not _is_overdue(before, day=day)
        if due_now == due_then and not is_at_once:
            continue
        yield Move(
            assembly_id=subject.assembly_id,
            kind=kind,
            now=due_now,
            then=due_then,
            is_overdue_at_once=is_at_once,
        )


def _ledger(subject: Subject, *, rulebooks: Dated, day: date) -> Ledger:
    timeline = replace(subject.timeline, rulebooks=rulebooks)
    return replay(timeline=timeline, facts=subject.facts, left={}, as_of=day)


def _due(obligation: Obligation | None) -> date | None:
    return obligation.due_on if obligation else None


def _is_overdue(obligation: Obligation | None, *, day: date) -> bool:
    if obligation is None or not obligation.is_open or obligation.is_suspended:
        return False
    return obligation.due_on < day
