"""The first day on which an obligation may ask for something, whatever is known of what left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from scheduling.domain.ladders import Ladder, LeftRung, acts_on
from scheduling.domain.obligations import Obligation
from scheduling.domain.workdays import Holidays


def first_action(
    *,
    ladder: Ladder,
    obligation: Obligation,
    left: Sequence[LeftRung] | None,
    as_of: date,
    holidays: Holidays,
) -> date | None:
    """Return the first day from `as_of` on which something may be owed; `left` None: not told.

    What left being unknown, a rung may wait for another that is long gone. The first day of any
    rung by itself is then never too late; the run of that day looks again, with what left. Example:
    failed, the repair notice to go in ten days and long gone before a correction moved its day:
    an overdue notice owed today waits no ten days.
    """
    known = left or ()
    on = acts_on(ladder=ladder, obligation=obligation, left=known, as_of=as_of, holidays=holidays)
    if left is not None or not obligation.is_open or on == as_of:
        return on
    alone = (
        acts_on(ladder=single, obligation=obligation, left=(), as_of=as_of, holidays=holidays)
        for single in _taken_apart(ladder)
    )
    return min((day for day in (on, *alone) if day is not None), default=None)


def _taken_apart(ladder: Ladder) -> list[Ladder]:
    """Return each rung as a ladder of its own, which waits for no other."""
    return [Ladder((replace(rung, after=None),)) for rung in ladder.rungs]
