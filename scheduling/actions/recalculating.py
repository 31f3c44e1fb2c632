"""All due dates of a program after a change of rules, by the few dates they follow from.

Where the last pass (and an anchor) says what is owed, assemblies that stand alike are worked
out once and written by one statement; where rules count failures, how the last rounds ended
is part of how they stand. Only the others have their histories read. The answer is that
of replay, which works out each of the few.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from django.db import connection, transaction
from django.utils import timezone

from registry.models import Assembly, Program
from scheduling.actions import due_map
from scheduling.actions.due_map import NEW, PARTED, Settled
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
from scheduling.domain.ledger import Ledger
from scheduling.domain.likeness import MOST_ROUNDS, rounds_in, shortest_history
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.replay import Targets, replay
from scheduling.domain.rulebook import Regime, SubjectKind
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from scheduling.domain.workdays import Holidays
from scheduling.models import Obligation as Row
from scheduling.queries.plain import KEY, Plain, plain_groups
from scheduling.queries.rulebooks import Books, books_of

_STORED: Final = KEY.index("origin")
"""Where the stored dates begin in the key of a group."""

_OPENS, _DUE = NEW.index("opens_on"), NEW.index("due_on")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Change:
    """The rules before and from the change, and what rows are written from."""

    program: Program
    books: Books
    before: tuple[RulebookFrom, ...]
    changed_on: date
    as_of: date
    at: datetime
    holidays: Holidays

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
        changed_on=changed_on,
        as_of=as_of,
        at=at or timezone.now(),
        holidays=closed_days(program.state),
    )
    total, updated = Assembly.objects.filter(program=program).count(), 0
    if not _may_be_grouped(change):
        rest = assembly_ids_of(program)
    else:
        with transaction.atomic():
            take_turn(program)
            updated, rest = _write_groups(change)
        if progress is not None:
            progress(total - len(rest), total)
    done = total - len(rest)
    tell = _after(done, of=total, tell=progress)
    written, others = reread(
        Rereading(program=program, books=books, changed_on=changed_on, as_of=as_of, at=change.at),
        ids=rest,
        progress=tell,
    )
    tally = replay_assemblies(
        program=program, assembly_ids=others, as_of=as_of, at=at, keeps_board=False
    )
    tally.assemblies += total - len(others)
    tally.updated += updated + written
    return tally


def _after(done: int, *, of: int, tell: Progress | None) -> Progress | None:
    return None if tell is None else lambda more, _: tell(done + more, of)


def _may_be_grouped(change: _Change) -> bool:
    """Whether one kind of work is asked of assemblies, the same before and after."""
    books = [entry.rulebook for entry in change.books.dated]
    kinds = [book.kinds_of(SubjectKind.ASSEMBLY) for book in books]
    is_one = all(len(found) == 1 for found in kinds) and len({k[0].name for k in kinds}) == 1
    return bool(change.before) and is_one and change.last_rounds <= MOST_ROUNDS


def _write_groups(change: _Change) -> tuple[int, list[int]]:
    """Write what groups become; return rows written, and the assemblies that no group settles."""
    program_id, last = change.program.pk, change.last_rounds
    due_map.make_maps(last_rounds=last)
    groups = plain_groups(program=change.program, last_rounds=last)
    found = [(group, _after_the_change(group, change=change)) for group in groups]
    due_map.fill_maps(groups=(_mapped(*one) for one in found), states=_states_after(found))
    rest = due_map.not_settled(
        program_id=program_id, changed_on=change.changed_on, last_rounds=last
    )
    written = due_map.write(
        program_id=program_id, last_rounds=last, as_of=change.as_of, moment=_moment(change)
    )
    return written, rest


Worked = tuple[Plain, list[Any] | None]
"""A group and the new values of its rows; None where its histories must be read."""


def _states_after(found: Sequence[Worked]) -> list[list[Any]]:
    """Return what states that are alike become, by likeness and dates, where that is other dates.

    Without dates where groups with the same state part: each state follows its obligation.
    """
    states: dict[tuple[Any, ...], tuple[Any, Any]] = {}
    for group, values in found:
        key = (group.likeness.words, group.opens_on, group.due_on)
        new = key[1:] if values is None else (values[_OPENS], values[_DUE])
        states[key] = new if states.get(key, new) == new else PARTED
    return [[*key, *new] for key, new in states.items() if key[1:] != new]


def _mapped(group: Plain, values: list[Any] | None) -> list[Any]:
    """Return the row of a group in the map."""
    if values is None:
        return [*group.key, *group.key[_STORED:], "{}", None, int(Settled.READ)]
    stored = (group.origin, group.period, group.opens_on, group.due_on, group.rule,
              group.rulebook_id)  # fmt: skip
    differs = tuple(values[: len(stored)]) != stored
    return [*group.key, *values, int(Settled.DIFFERS if differs else Settled.MAY_DIFFER)]


def _moment(change: _Change) -> Any:
    return Row._meta.get_field("updated_at").get_db_prep_save(change.at, connection)


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
    if not _goes_on(was, becomes=becomes, group=group):
        return None
    return _values(becomes, ledger=new, change=change)


def _goes_on(was: Obligation, *, becomes: Obligation, group: Plain) -> bool:
    """Whether a row only changes its dates: none closes again, none opens towards a target."""
    if group.has_opened:
        return not becomes.is_coming and becomes.key == was.key
    return becomes.is_coming or not group.is_aimed


def _can_be_grouped(group: Plain, *, change: _Change) -> bool:
    """Whether the last pass, and the anchor that the stored origin names, say everything.

    An anchor is known only while every rule so far was an anniversary.
    """
    regimes = [
        rule.regime if rule is not None else None
        for rule in (
            entry.rulebook.cycle_rule(
                kind=entry.rulebook.main_kind, attributes=group.likeness.attributes
            )
            for entry in change.books.dated
        )
    ]
    if group.likeness.last_passed_on >= change.changed_on:
        return False
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
    likeness = group.likeness
    timeline = Timeline(
        attributes=(AttributesFrom(on=date.min, attributes=likeness.attributes),),
        rulebooks=rulebooks,
        recorded_on=likeness.last_passed_on,
        holidays=change.holidays,
        rounds_failed=rounds_in(group.rounds >> 1, last=max(change.last_rounds - 1, 0)),
    )
    facts = shortest_history(
        likeness=likeness, anchor=group.anchor, found_failed=bool(group.rounds & 1)
    )
    return replay(
        timeline=timeline,
        facts=facts,
        left={},
        as_of=change.as_of,
        targets=_targets(group, rulebooks),
    )


def _targets(group: Plain, rulebooks: tuple[RulebookFrom, ...]) -> Targets:
    """Return the day to which what is open was levelled, for its courtesy rungs count from it."""
    if group.target_on is None:
        return {}
    kind = rulebooks[-1].rulebook.main_kind
    key = ObligationKey.from_texts(kind=kind, origin=group.origin, period=group.period)
    return {key: group.target_on}


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
