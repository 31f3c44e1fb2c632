"""Every rung of a ladder on one day: owed, left, coming, waiting or no part of it, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from scheduling.domain.ladders import Ladder, LeftRung, Rung, RungStep, Trigger, next_rung
from scheduling.domain.obligations import Obligation
from scheduling.domain.workdays import Holidays


class RungVerdict(StrEnum):
    """Where a rung stands on a day."""

    LEFT = "left"
    OWED = "owed"
    COMES = "comes"
    WAITS = "waits"
    PASSED_OVER = "passed over"
    NO_PART = "no part of it"


@dataclass(frozen=True, slots=True, kw_only=True)
class RungAccount:
    """One rung of one obligation on a day: what it is then, its day, why, and the source."""

    rung: str
    verdict: RungVerdict
    on: date | None
    why: str
    citation: str


def account(
    *,
    ladder: Ladder,
    obligation: Obligation,
    left: Sequence[LeftRung],
    day: date,
    holidays: Holidays = (),
) -> list[RungAccount]:
    """Return every rung of the ladder for an obligation on a day, in the ladder's order.

    `left` are the rungs that had left before that day. Example: due 2025-09-04, nothing left, on
    2025-09-05 `first-overdue` is owed, both reminders are passed over, `second-overdue` waits
    until the first has left.
    """
    running = obligation._replace(closed_on=None, closed_how=None, is_suspended=False)
    step = next_rung(ladder=ladder, obligation=running, left=left, today=day, holidays=holidays)
    asked = _Asked(ladder, obligation, tuple(left), day, holidays)
    return [_of_rung(rung, asked=asked, step=step) for rung in ladder.rungs]


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is asked of every rung: for which obligation, after what left, on which day."""

    ladder: Ladder
    obligation: Obligation
    left: tuple[LeftRung, ...]
    day: date
    holidays: Holidays


def _of_rung(rung: Rung, *, asked: _Asked, step: RungStep | None) -> RungAccount:
    obligation, left, day = asked.obligation, asked.left, asked.day
    gone = [one for one in left if one.rung == rung.key]
    is_next = step is not None and step.rung.key == rung.key
    if gone and not is_next:
        on = max(one.left_on for one in gone)
        return _said(rung, RungVerdict.LEFT, on=on, why=f"left {on}")
    halted = _halted(obligation, day=day)
    if halted:
        return _said(rung, RungVerdict.NO_PART, on=None, why=halted)
    if step is not None and is_next:
        is_owed = step.on <= day and obligation.is_open
        verdict = RungVerdict.OWED if is_owed else RungVerdict.COMES
        return _said(rung, verdict, on=step.on, why=step.reasons[-1].arithmetic)
    if step is not None and rung.key in step.skipped:
        why = f"a later rung, {step.rung.key}, is owed from {step.on}: courtesy is passed over"
        return _said(rung, RungVerdict.PASSED_OVER, on=None, why=why)
    return _later(rung, asked=asked)


def _halted(obligation: Obligation, *, day: date) -> str:
    """Why no rung is owed at all, or nothing."""
    if obligation.closed_on is not None and obligation.closed_on <= day:
        return f"the obligation closed {obligation.closed_on}, {obligation.closed_how}"
    if obligation.is_suspended:
        return "idle: nothing is owed until the return to use"
    return ""


def _later(rung: Rung, *, asked: _Asked) -> RungAccount:
    """A rung that is neither next nor left: it waits for another, comes, or is no part."""
    obligation, day = asked.obligation, asked.day
    alone = next_rung(
        ladder=Ladder((rung,)), obligation=obligation, left=(), today=day, holidays=asked.holidays
    )
    if alone is None:
        return _said(rung, RungVerdict.NO_PART, on=None, why=_why_no_part(rung, obligation))
    before = rung.after
    keys = {one.key for one in asked.ladder.rungs}
    if before in keys and before not in {one.rung for one in asked.left}:
        why = f"waits until {before} has left, and {alone.reasons[-1].arithmetic}"
        return _said(rung, RungVerdict.WAITS, on=None, why=why)
    if alone.on <= day:
        why = f"{alone.reasons[-1].arithmetic}; another rung goes first, one rung a day"
        return _said(rung, RungVerdict.WAITS, on=alone.on, why=why)
    return _said(rung, RungVerdict.COMES, on=alone.on, why=alone.reasons[-1].arithmetic)


def _why_no_part(rung: Rung, obligation: Obligation) -> str:
    if rung.trigger is Trigger.PROMPTED:
        return "no event asked for this test"
    if rung.trigger is Trigger.FAILED:
        return "no failed test waits for a cure"
    if obligation.failed_on is not None:
        return f"a test failed {obligation.failed_on}: nothing in advance is owed any more"
    if obligation.courtesy_is_over and rung.is_skippable:
        return "it was overdue before it was extended, and goes back to no courtesy letter"
    if rung.offset_days < 0:
        return (
            f"its day, {-rung.offset_days} days before the due date {obligation.due_on}, lies "
            f"before the opening on {obligation.opens_on}"
        )
    return "its day is not known"


def _said(rung: Rung, verdict: RungVerdict, *, on: date | None, why: str) -> RungAccount:
    return RungAccount(rung=rung.key, verdict=verdict, on=on, why=why, citation=rung.citation)
