"""Propose a level year, apply it as one recorded decision, and undo it."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Q

from registry.changes import Hand, record_change
from registry.models import Program
from scheduling.domain.level_periods import Capacity, Period
from scheduling.domain.levelling import Levelling, level
from scheduling.models import LevelDecision, LevelRow, Obligation, ProgramClock
from scheduling.queries.levelling import Owed, owed_between

BATCH = 1000
LONGEST_DAYS = 800
"""Beyond about two years no obligation is known yet."""


class LevelError(ValueError):
    """A levelling that cannot be; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What is asked: a capacity, from a day to a day."""

    capacity: Capacity
    first: date
    last: date


@dataclass(frozen=True, kw_only=True)
class Move:
    """One test and where it is aimed: `is_moved` where that is another week or month."""

    row: Obligation
    target_on: date
    is_moved: bool


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A level year, nothing written yet."""

    wish: Wish
    owed: Owed
    levelling: Levelling
    before: tuple[int, ...]
    moves: tuple[Move, ...]

    @property
    def moved(self) -> list[Move]:
        """The tests that come to another week or month than their due date's."""
        return [move for move in self.moves if move.is_moved]

    @property
    def digest(self) -> str:
        """Tells one proposal from another, so that what was seen is what is applied."""
        lines = sorted(f"{key}:{day}" for key, day in self.levelling.targets.items())
        return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:24]


def propose_level(*, program: Program, wish: Wish) -> Proposal:
    """Propose a target for every test due in the stretch. Raises LevelError."""
    check_wish(wish)
    owed = owed_between(program, first=wish.first, last=wish.last)
    found = level(duties=owed.duties, capacity=wish.capacity, first=wish.first, last=wish.last)
    return proposal_of(wish=wish, owed=owed, found=found)


def proposal_of(*, wish: Wish, owed: Owed, found: Levelling) -> Proposal:
    """Return the proposal that a solved levelling makes of what is owed."""
    own = {pk: _period_of(row.due_on, found.periods) for pk, row in owed.rows.items()}
    moves = tuple(
        Move(
            row=row,
            target_on=found.targets[pk],
            is_moved=_period_of(found.targets[pk], found.periods) != own[pk],
        )
        for pk, row in owed.rows.items()
    )
    loads = Counter(own.values())
    before = tuple(loads.get(number, 0) for number in range(len(found.periods)))
    return Proposal(wish=wish, owed=owed, levelling=found, before=before, moves=moves)


@transaction.atomic
def apply_level(*, program: Program, proposal: Proposal, hand: Hand) -> LevelDecision:
    """Set the targets as one decision; what was closed or moved meanwhile is left alone.

    Only `target_on` is set (and the next day a run looks at an open obligation, so that a
    courtesy letter steered earlier is seen). Raises LevelError where it does not fit.
    """
    if not proposal.levelling.is_feasible:
        raise LevelError(field="capacity", message=why_not(proposal))
    _take_turn(program)
    wanted = {move.row.pk: move for move in proposal.moves}
    decision = _decision(program, proposal, hand=hand)
    targets: dict[int, date | None] = {}
    kept: list[LevelRow] = []
    for row in _still_owed(program, wanted):
        after = wanted[row.pk].target_on
        if row.target_on != after:
            targets[row.pk] = after
            kept.append(
                LevelRow(decision=decision, obligation=row, before_on=row.target_on, after_on=after)
            )
    LevelRow.objects.bulk_create(kept, batch_size=BATCH)
    _set_targets(targets, today=proposal.wish.first)
    _tell(decision, hand=hand, before={}, after={"targets": len(kept), "levelled": str(decision)})
    return decision


@transaction.atomic
def undo_level(*, decision: LevelDecision, today: date, hand: Hand) -> int:
    """Put back what stood before, where nothing else has changed it since; return how many.

    Raises LevelError where the decision was undone before.
    """
    _take_turn(decision.program)
    claimed = LevelDecision.objects.filter(pk=decision.pk, undone_at__isnull=True)
    if not claimed.update(undone_at=hand.at, undone_by=hand.by):
        raise LevelError(field="decision", message="This levelling was undone before.")
    rows = decision.rows.select_related("obligation")
    targets = {
        row.obligation_id: row.before_on for row in rows if row.obligation.target_on == row.after_on
    }
    _set_targets(targets, today=today)
    _tell(decision, hand=hand, before={"levelled": str(decision)}, after={"undone": len(targets)})
    return len(targets)


def why_not(proposal: Proposal) -> str:
    """Which weeks or months do not fit, by how much, and what capacity would do."""
    found = proposal.levelling
    weeks = [
        f"{period.first} to {period.last}: {more} over {period.room}" for period, more in found.over
    ]
    said = "; ".join(weeks[:6]) + (f"; and {len(weeks) - 6} more" if len(weeks) > 6 else "")
    per = proposal.wish.capacity.per
    enough = f" {found.enough} a {per} would do." if found.enough else ""
    return f"It does not fit into {proposal.wish.capacity}. {said}.{enough}"


def check_wish(wish: Wish) -> None:
    """Refuse a capacity or a stretch that cannot be. Raises LevelError."""
    if wish.capacity.number < 1:
        raise LevelError(field="capacity", message="Allow at least one test.")
    if wish.last < wish.first:
        raise LevelError(field="to", message=f"{wish.last} lies before {wish.first}.")
    if wish.last - wish.first > timedelta(days=LONGEST_DAYS):
        raise LevelError(
            field="to", message="Level two years at most; what comes later is not known."
        )


def _period_of(day: date, periods: tuple[Period, ...]) -> int:
    low, high = 0, len(periods) - 1
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if periods[middle].first <= day else (low, middle - 1)
    return low


def _still_owed(program: Program, wanted: Mapping[int, Move]) -> list[Obligation]:
    """The obligations as they are now, but those closed, failed or due on another day by now."""
    keys = sorted(wanted)
    found: list[Obligation] = []
    for start in range(0, len(keys), BATCH):
        rows = Obligation.objects.select_for_update().filter(
            program=program,
            pk__in=keys[start : start + BATCH],
            closed_on__isnull=True,
            failed_on__isnull=True,
        )
        found += [row for row in rows if row.due_on == wanted[row.pk].row.due_on]
    return found


def _set_targets(targets: Mapping[int, date | None], *, today: date) -> None:
    by_day: dict[date | None, list[int]] = {}
    for pk, day in targets.items():
        by_day.setdefault(day, []).append(pk)
    for day, keys in by_day.items():
        for start in range(0, len(keys), BATCH):
            Obligation.objects.filter(pk__in=keys[start : start + BATCH]).update(target_on=day)
    keys = list(targets)
    for start in range(0, len(keys), BATCH):
        Obligation.objects.filter(
            Q(next_action_on__gt=today) | Q(next_action_on__isnull=True),
            pk__in=keys[start : start + BATCH],
            opened_on__isnull=False,
        ).update(next_action_on=today)


def _decision(program: Program, proposal: Proposal, *, hand: Hand) -> LevelDecision:
    found = proposal.levelling
    return LevelDecision.objects.create(
        program=program,
        from_on=proposal.wish.first,
        to_on=proposal.wish.last,
        capacity=proposal.wish.capacity.number,
        per=proposal.wish.capacity.per,
        made_at=hand.at,
        made_by=hand.by,
        figures={
            "obligations": len(proposal.moves),
            "visits": found.visits,
            "moved": len(proposal.moved),
            "lost_days": found.lost_days,
        },
    )


def _tell(
    decision: LevelDecision, *, hand: Hand, before: dict[str, object], after: dict[str, object]
) -> None:
    record_change(
        hand=hand,
        what="leveldecision",
        subject_id=decision.pk,
        label=str(decision),
        before=before,
        after=after,
        program=decision.program,
    )


def _take_turn(program: Program) -> None:
    ProgramClock.objects.get_or_create(program=program)
    ProgramClock.objects.select_for_update().get(program=program)
