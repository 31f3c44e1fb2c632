"""Keeps the standing board true: by the difference a replay makes, and by a recount each day.

The board counts each assembly under type, hazard and service as they were when it was last
replayed (`AssemblyState.counted_as`), so that the difference of a replay is exact.
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from datetime import date, datetime

from django.db import transaction
from django.db.models import F, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Concat

from registry.models import Assembly, Program, Question
from scheduling.actions.likenesses import fill_likeness, mend_likeness
from scheduling.models import AssemblyState, ProgramClock, StandingBoard
from scheduling.queries.board_figures import BoardFigures, figures_of

logger = logging.getLogger(__name__)

KIND = "standing board"


@contextmanager
def board_kept(
    *, program: Program, assembly_ids: Collection[int], on: date, at: datetime
) -> Iterator[None]:
    """Carry into the board what happens to some assemblies inside the block.

    The caller holds the program's clock. A board of an earlier day, or none, is counted anew
    afterwards; one of a later day stays on its day.
    """
    board = StandingBoard.objects.filter(program=program).first()
    if board is None or board.on < on:
        yield
        _label(AssemblyState.objects.filter(program=program, pk__in=assembly_ids))
        _write(program, figures_of(program, on=on), on=on, at=at)
        return
    before = figures_of(program, on=board.on, assembly_ids=assembly_ids)
    yield
    _label(AssemblyState.objects.filter(program=program, pk__in=assembly_ids))
    after = figures_of(program, on=board.on, assembly_ids=assembly_ids)
    if after != before:
        kept = kept_figures(board).changed_by(before=before, after=after)
        _write(program, kept, on=board.on, at=at)


def recount_daily(*, program: Program, on: date, at: datetime) -> bool:
    """Recount on the first run of a day; True where that mended something, which is told loudly.

    What assemblies share with others is held against their rows and facts besides. A later run
    of the day finds it recounted. Every run fills in what some of them share, where it lacks.
    """
    fill_likeness(program=program, on=on)
    board = StandingBoard.objects.filter(program=program).first()
    if board is not None and board.on == board.recounted_on == on:
        return False
    mend_likeness(program=program, on=on)
    return recount_board(program=program, on=on, at=at)


@transaction.atomic
def recount_board(*, program: Program, on: date, at: datetime) -> bool:
    """Count everything anew; True where the board said otherwise, which a person is told."""
    ProgramClock.objects.get_or_create(program=program)
    ProgramClock.objects.select_for_update().get(program=program)
    board = StandingBoard.objects.filter(program=program).first()
    wrong = _wrong(board) if board is not None else {}
    _label(AssemblyState.objects.filter(program=program))
    _write(program, figures_of(program, on=on), on=on, at=at)
    StandingBoard.objects.filter(program=program).update(recounted_on=on)
    if wrong:
        _tell(program, wrong, on=on)
    return bool(wrong)


@transaction.atomic
def renew_board(*, program: Program, on: date, at: datetime) -> None:
    """Count anew after an act that adds or takes away whole assemblies, such as a merge."""
    ProgramClock.objects.get_or_create(program=program)
    ProgramClock.objects.select_for_update().get(program=program)
    board = StandingBoard.objects.filter(program=program).first()
    day = max(on, board.on) if board is not None else on
    _label(AssemblyState.objects.filter(program=program))
    _write(program, figures_of(program, on=day), on=day, at=at)


def kept_figures(board: StandingBoard) -> BoardFigures:
    """What a board says, as figures."""
    return BoardFigures(counts=board.counts, spans=board.spans, months=board.months)


def _write(program: Program, found: BoardFigures, *, on: date, at: datetime) -> None:
    StandingBoard.objects.update_or_create(
        program=program,
        defaults={
            "on": on,
            "counts": found.counts,
            "spans": found.spans,
            "months": found.months,
            "changed_at": at,
        },
    )


def _label(states: QuerySet[AssemblyState]) -> None:
    """Note type, hazard and service of each assembly where they differ from what was noted."""
    bar = Value("|")
    label = Assembly.objects.filter(pk=OuterRef("pk")).values(
        label=Concat("type", bar, "hazard", bar, "connection__kind")
    )
    states.exclude(counted_as=Subquery(label)).update(counted_as=Subquery(label))


def _wrong(board: StandingBoard) -> dict[str, list[int]]:
    """Where the board differs from a count of its own day: what it says, and what is so."""
    found = figures_of(board.program, on=board.on)
    wrong: dict[str, list[int]] = {}
    for kept, counted in (
        (board.counts, found.counts),
        (board.spans, found.spans),
        (board.months, found.months),
    ):
        for name in {**kept, **counted}:
            if kept.get(name, 0) != counted.get(name, 0):
                wrong[name] = [kept.get(name, 0), counted.get(name, 0)]
    return wrong


def _tell(program: Program, wrong: dict[str, list[int]], *, on: date) -> None:
    said = [f"{name.replace('|', ', ')}: {kept}, counted {n}" for name, (kept, n) in wrong.items()]
    logger.error("The standing board of %s was wrong and is mended: %s", program.code, said[:20])
    StandingBoard.objects.filter(program=program).update(mends=F("mends") + 1)
    digest = hashlib.sha256(json.dumps(wrong, sort_keys=True).encode()).hexdigest()[:16]
    Question.objects.get_or_create(
        program=program,
        key=f"board:{on}:{digest}",
        defaults={
            "kind": KIND,
            "text": (
                f"{len(wrong)} figures of the standing board differed from a recount and are "
                f"mended ({'; '.join(said[:3])}). Rows were changed past the program; find by what."
            )[:500],
            "detail": {"wrong": wrong},
            "raised_on": on,
        },
    )
