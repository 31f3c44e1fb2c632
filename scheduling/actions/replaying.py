"""Replay assemblies and make the stored rows say what replay found, many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from registry.models import Assembly, Program
from scheduling.actions.asking import ask_about
from scheduling.actions.replaying_places import CHUNK as PLACES_AT_ONCE
from scheduling.actions.replaying_places import Walk, premises_ids_of, store_places
from scheduling.actions.standing_board import board_kept
from scheduling.actions.states import Found, write_states
from scheduling.actions.storing import Plan, RowSource, plan_rows, write_plans
from scheduling.domain.ladders import LeftRung
from scheduling.domain.likeness import likeness_of, rounds_of
from scheduling.domain.replay import replay
from scheduling.models import Obligation, ProgramClock
from scheduling.queries.obligations import key_of
from scheduling.queries.rulebooks import Books, books_of
from scheduling.queries.subjects import subjects

CHUNK = 2000

Progress = Callable[[int, int], None]
"""Told after each chunk: how many assemblies are done, of how many."""

LeftByRow = Mapping[int, Sequence[LeftRung]]
"""The rungs that left, by the id of the obligation's row."""


@dataclass(slots=True, kw_only=True)
class ReplayTally:
    """How many assemblies were replayed, and what became of their stored obligations.

    `premises`: of how many premises the rulebook asks something besides.
    """

    assemblies: int = 0
    premises: int = 0
    created: int = 0
    updated: int = 0
    superseded: int = 0
    dropped: int = 0


def replay_assemblies(
    *,
    program: Program,
    assembly_ids: Collection[int] | None,
    as_of: date,
    left: LeftByRow | None = None,
    at: datetime | None = None,
    progress: Progress | None = None,
    keeps_board: bool = True,
) -> ReplayTally:
    """Replay assemblies of a program (None: all) and store obligations and states.

    Rows keep their id while their key survives. A row that a run opened and whose key is
    gone closes superseded, linked to its successor; one never opened leaves no row. Without
    `left`, `next_action_on` is the first day anything could be owed. A second time changes
    nothing. Not `keeps_board`: the caller renews the standing board. Raises NoRulebookError.
    """
    books = books_of(program)
    ids = _ids(program, assembly_ids)
    tally = ReplayTally()
    for start in range(0, len(ids), CHUNK):
        chunk = ids[start : start + CHUNK]
        with transaction.atomic():
            take_turn(program)
            now = at or timezone.now()
            board = board_kept(program=program, assembly_ids=chunk, on=as_of, at=now)
            with board if keeps_board else nullcontext():
                _replay_chunk(
                    program=program,
                    ids=chunk,
                    books=books,
                    as_of=as_of,
                    left=left or {},
                    at=now,
                    tally=tally,
                )
        if progress is not None:
            progress(start + len(chunk), len(ids))
    walk = Walk(program=program, books=books, as_of=as_of, at=at or timezone.now(), left=left or {})
    if walk.is_asked:
        tally.premises = _walk(walk, None if assembly_ids is None else _premises_of(ids))
    return tally


def replay_premises(
    *,
    program: Program,
    premises_ids: Collection[int] | None,
    as_of: date,
    left: LeftByRow | None = None,
    at: datetime | None = None,
    progress: Progress | None = None,
) -> int:
    """Replay premises of a program (None: all) and their services, and store what they owe.

    Where no rulebook of the program asks anything of them, nothing is read. They are read a
    thousand at a time, and `progress` is told after each. Returns how many were replayed.
    Raises NoRulebookError.
    """
    walk = Walk(
        program=program,
        books=books_of(program),
        as_of=as_of,
        at=at or timezone.now(),
        left=left or {},
    )
    return _walk(walk, premises_ids, progress=progress) if walk.is_asked else 0


def _walk(
    walk: Walk, premises_ids: Collection[int] | None, *, progress: Progress | None = None
) -> int:
    found = premises_ids_of(walk.program) if premises_ids is None else premises_ids
    ids = sorted(set(found))
    done = 0
    for start in range(0, len(ids), PLACES_AT_ONCE):
        with transaction.atomic():
            take_turn(walk.program)
            done += store_places(walk, premises_ids=ids[start : start + PLACES_AT_ONCE])
        if progress is not None:
            progress(done, len(ids))
    return done


def _premises_of(assembly_ids: Sequence[int]) -> set[int]:
    found: set[int] = set()
    for start in range(0, len(assembly_ids), CHUNK):
        rows = Assembly.objects.filter(pk__in=assembly_ids[start : start + CHUNK])
        found.update(rows.values_list("premises_id", flat=True))
    return found


def _ids(program: Program, assembly_ids: Collection[int] | None) -> list[int]:
    if assembly_ids is not None:
        return sorted(set(assembly_ids))
    return assembly_ids_of(program)


def assembly_ids_of(program: Program) -> list[int]:
    """Return the ids of all assemblies of a program, in order."""
    rows = Assembly.objects.filter(program=program).order_by("pk")
    return list(rows.values_list("pk", flat=True))


def take_turn(program: Program) -> None:
    """Hold the program's clock, so that a load and the day's run do not cross."""
    ProgramClock.objects.get_or_create(program=program)
    ProgramClock.objects.select_for_update().get(program=program)


def _replay_chunk(
    *,
    program: Program,
    ids: Sequence[int],
    books: Books,
    as_of: date,
    left: LeftByRow,
    at: datetime,
    tally: ReplayTally,
) -> None:
    found = subjects(program=program, assembly_ids=ids, rulebooks=books.dated)
    stored: dict[int, list[Obligation]] = defaultdict(list)
    for row in Obligation.objects.filter(program=program, assembly__in=ids).order_by("pk"):
        stored[row.assembly_id or 0].append(row)
    plans: list[Plan] = []
    lived: list[Found] = []
    for subject in found:
        rows = stored.get(subject.assembly_id, [])
        ledger = replay(
            timeline=subject.timeline,
            facts=subject.facts,
            left={key_of(row): left[row.pk] for row in rows if row.pk in left},
            as_of=as_of,
            targets={key_of(row): row.target_on for row in rows if row.target_on is not None},
        )
        likeness = likeness_of(
            shapes=subject.timeline.attributes, facts=subject.facts, ledger=ledger
        )
        source = RowSource(
            program=program,
            assembly_id=subject.assembly_id,
            next_actions=ledger.next_actions,
            rulebook_ids=books.row_ids,
            as_of=as_of,
            at=at,
            likeness=likeness,
            rounds=rounds_of(subject.facts),
        )
        plans.append(plan_rows(ledger=ledger, rows=rows, source=source))
        lived.append((subject, ledger, likeness))
    write_plans(plans)
    write_states(program=program, found=lived, at=at)
    ledgers = [(subject, ledger) for subject, ledger, _ in lived]
    ask_about(program=program, ledgers=ledgers, as_of=as_of, at=at)
    _count(tally, plans=plans, assemblies=len(found))


def _count(tally: ReplayTally, *, plans: Sequence[Plan], assemblies: int) -> None:
    tally.assemblies += assemblies
    for plan in plans:
        tally.created += len(plan.new)
        tally.updated += len(plan.changed)
        tally.superseded += len(plan.superseded)
        tally.dropped += len(plan.dropped)
