"""All due dates of a program after a change of rules, by the few dates they follow from.

Where the last pass (and an anchor) says what is owed, assemblies that stand alike are worked
out once and written by one statement; where rules count failures, how the last rounds ended
is part of how they stand. Only the others have their histories read. The answer is that
of replay, which works out each of the few.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import count, islice
from typing import Any

from django.db import connection, transaction
from django.utils import timezone

from registry.models import Program
from scheduling.actions import due_map
from scheduling.actions.due_map import NEW
from scheduling.actions.replaying import (
    Progress,
    ReplayTally,
    assembly_ids_of,
    replay_assemblies,
    take_turn,
)
from scheduling.actions.rereading import Rereading, reread
from scheduling.actions.storing import RowSource, values_of
from scheduling.closed_days import closed_days
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Regime, SubjectKind
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from scheduling.models import Obligation as Row
from scheduling.queries.plain import KEY, Plain, columns_asked, plain_obligations
from scheduling.queries.rounds import MOST, make_rounds, rounds_in
from scheduling.queries.rulebooks import Books, books_of

GROUPS_AT_ONCE = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class _Change:
    """The rules before and from the change, and what rows are written from."""

    program: Program
    books: Books
    before: tuple[RulebookFrom, ...]
    as_of: date
    at: datetime

    @property
    def last_rounds(self) -> int:
        """Of how many of the last rounds a rule counts the failures; 0: none does."""
        return max(
            (rule.of_last for e in self.books.dated for rule in e.rulebook.repeats), default=0
        )


def recalculate(
    *,
    program: Program,
    changed_on: date,
    as_of: date,
    at: datetime | None = None,
    progress: Progress | None = None,
) -> ReplayTally:
    """Make every stored date of a program say what the rules in force on a day ask.

    `changed_on`: the first day on which rules changed since the dates were worked out.
    Ends as `replay_assemblies` over all would, but the caller renews the standing board; killed
    half-way, doing it again ends the same.
    """
    books = books_of(program)
    change = _Change(
        program=program,
        books=books,
        before=tuple(entry for entry in books.dated if entry.on < changed_on),
        as_of=as_of,
        at=at or timezone.now(),
    )
    done = updated = 0
    if not _may_be_grouped(change):
        rest = assembly_ids_of(program)
    else:
        with transaction.atomic():
            take_turn(program)
            updated, done, rest = _write_groups(change, changed_on=changed_on)
        if progress is not None:
            progress(done, done + len(rest))
    tell = _after(done, of=done + len(rest), tell=progress)
    written, others = reread(
        Rereading(program=program, books=books, changed_on=changed_on, as_of=as_of, at=change.at),
        ids=rest,
        progress=tell,
    )
    tally = replay_assemblies(
        program=program, assembly_ids=others, as_of=as_of, at=at, keeps_board=False
    )
    tally.assemblies += done + len(rest) - len(others)
    tally.updated += updated + written
    return tally


def _after(done: int, *, of: int, tell: Progress | None) -> Progress | None:
    return None if tell is None else lambda more, _: tell(done + more, of)


def _may_be_grouped(change: _Change) -> bool:
    """Whether one kind of work is asked of assemblies, the same before and after."""
    books = [entry.rulebook for entry in change.books.dated]
    kinds = [book.kinds_of(SubjectKind.ASSEMBLY) for book in books]
    is_one = all(len(found) == 1 for found in kinds) and len({k[0].name for k in kinds}) == 1
    return bool(change.before) and is_one and change.last_rounds <= MOST


def _write_groups(change: _Change, *, changed_on: date) -> tuple[int, int, list[int]]:
    """Write what groups become; return rows written, assemblies settled, and the other ids."""
    books = [entry.rulebook for entry in change.books.dated]
    asked = columns_asked(books)
    rows = plain_obligations(program=change.program, before=changed_on, asked=asked)
    if change.last_rounds:
        make_rounds(program=change.program, last=change.last_rounds)
    due_map.make_plain(rows, with_rounds=change.last_rounds > 0)
    due_map.make_map()
    numbers = count()
    for groups in _groups():
        due_map.fill_map([*values, next(numbers)] for values in _worked_out(groups, change=change))
    done = due_map.settle()
    written = due_map.write(
        program_id=change.program.pk, as_of=change.as_of, moment=_moment(change)
    )
    rest = due_map.not_settled(program_id=change.program.pk)
    due_map.drop(with_rounds=change.last_rounds > 0)
    return written, done, rest


def _moment(change: _Change) -> Any:
    return Row._meta.get_field("updated_at").get_db_prep_save(change.at, connection)


def _groups() -> Iterator[list[Plain]]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT DISTINCT {', '.join(KEY)} FROM plain")  # noqa: S608
        rows = iter(cursor.fetchall())
    while found := [Plain.of(dict(zip(KEY, row, strict=True))) for row in
                    islice(rows, GROUPS_AT_ONCE)]:  # fmt: skip
        yield found


def _worked_out(groups: list[Plain], *, change: _Change) -> Iterator[list[Any]]:
    """Yield the key of each group that replay settles, with what its row says afterwards."""
    for group in groups:
        values = _after_the_change(group, change=change)
        if values is not None:
            yield [*group.key, *values]


def _after_the_change(group: Plain, *, change: _Change) -> list[Any] | None:
    """Return the new values of a group's rows; None where its histories must be read.

    The shortest history, under the rules before the change, must give what is stored.
    """
    if not _can_be_grouped(group, change=change):
        return None
    old = _replayed(group, rulebooks=change.before, change=change)
    new = _replayed(group, rulebooks=change.books.dated, change=change)
    was, becomes = old.current, new.current
    if was is None or becomes is None or new.is_exempt or new.questions:
        return None
    if [o.key for o in old.obligations if o.closed_on] != [
        o.key for o in new.obligations if o.closed_on
    ]:
        return None
    if not _says_what_is_stored(was, group=group, change=change):
        return None
    if group.has_opened and (becomes.is_coming or becomes.key != was.key):
        return None
    return _values(becomes, ledger=new, change=change)


def _can_be_grouped(group: Plain, *, change: _Change) -> bool:
    """Whether the last pass, and the anchor that the stored origin names, say everything.

    An anchor is known only while every rule so far was an anniversary.
    """
    regimes = [
        rule.regime if rule is not None else None
        for rule in (
            entry.rulebook.cycle_rule(kind=entry.rulebook.main_kind, attributes=group.attributes)
            for entry in change.books.dated
        )
    ]
    anchored = [regime is Regime.ANNIVERSARY for regime in regimes]
    return None not in regimes and anchored == sorted(anchored, reverse=True)


def _says_what_is_stored(obligation: Obligation, *, group: Plain, change: _Change) -> bool:
    key = obligation.key
    return (
        (key.origin_text, key.period_text, obligation.opens_on, obligation.due_on)
        == (group.origin, group.period, group.opens_on, group.due_on)
        and obligation.rule[:80] == group.rule
        and change.books.row_ids[obligation.rulebook] == group.rulebook_id
        and not obligation.prompts
        and obligation.failed_on is None
    )


def _replayed(group: Plain, *, rulebooks: tuple[RulebookFrom, ...], change: _Change) -> Ledger:
    timeline = Timeline(
        attributes=(AttributesFrom(on=date.min, attributes=group.attributes),),
        rulebooks=rulebooks,
        recorded_on=group.last_passed_on,
        holidays=closed_days(change.program.state),
        rounds_failed=rounds_in(group.rounds >> 1, last=max(change.last_rounds - 1, 0)),
    )
    return replay(timeline=timeline, facts=_facts(group), left={}, as_of=change.as_of)


def _facts(group: Plain) -> list[Fact]:
    """Return the shortest history that leaves a group where it stands: its anchor, its pass.

    The origin of a cycle is the day it counts from; that of an anniversary is its anchor.
    """
    passed = Fact(
        kind=FactKind.PASSED, on=group.last_passed_on, found_failed=bool(group.rounds & 1)
    )
    anchor = date.fromisoformat(group.origin.partition(":")[2])
    if anchor >= group.last_passed_on:
        return [passed]
    return [Fact(kind=FactKind.INSTALLED, on=anchor), passed]


def _values(obligation: Obligation, *, ledger: Ledger, change: _Change) -> list[Any]:
    source = RowSource(
        program=change.program,
        assembly_id=0,
        next_actions=ledger.next_actions,
        rulebook_ids=change.books.row_ids,
        as_of=change.as_of,
        at=change.at,
    )
    values = values_of(obligation, source=source)
    values["detail"] = json.dumps(values["detail"])
    return [values[name] for name in NEW]
