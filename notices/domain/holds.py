"""What holds the next rung until a day: a promised visit, a report in hand, a letter sent back.

A hold moves the day of a rung and counts nothing: the gap to the rung after it still counts
from the day the rung really leaves. A stopped clock is another thing, a fact of scheduling.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from scheduling.domain.ladders import RungStep
from scheduling.domain.reasons import Reason
from scheduling.domain.rungs import Trigger
from scheduling.domain.workdays import ONE_DAY

REPORT_DAYS = 14
"""Days a report in hand holds overdue rungs where the rulebook says nothing. Common practice."""


class HoldCause(StrEnum):
    """What holds a rung."""

    PROMISE = "promise"
    REPORT = "report in hand"
    RETURNED = "returned letter"


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderHold:
    """A reason to wait: rungs go again on `ends`, the first free day.

    `ends` None: until something happens; it is looked at again every day. `is_for_overdue`:
    only rungs that count from the due date or a failure and are past it.
    `holds_orders` as the rulebook lets it.
    """

    cause: HoldCause
    ends: date | None
    why: str
    citation: str = ""
    is_for_overdue: bool = False
    holds_orders: bool = False

    def holds(self, step: RungStep, *, late_from: date) -> bool:
        """Return whether this hold is about such a rung; `late_from`: due, or to be cured by."""
        if step.rung.is_order:
            return self.holds_orders
        if not self.is_for_overdue:
            return True
        is_late = step.rung.trigger in {Trigger.DUE, Trigger.FAILED} and step.on > late_from
        return is_late and not step.rung.is_skippable


def held_back(
    step: RungStep | None, *, holds: Iterable[LadderHold], late_from: date, today: date
) -> RungStep | None:
    """Return the step not before the holds that are about it have ended.

    Example: the second overdue rung owed 6 March, a visit promised for the 12th: 13 March.
    """
    if step is None:
        return None
    for hold in holds:
        ends = hold.ends if hold.ends is not None else today + ONE_DAY
        day = max(step.on, today)
        if day < ends and hold.holds(step, late_from=late_from):
            reason = Reason(day, str(hold.cause), f"{hold.why}, so {ends}", hold.citation)
            step = replace(step, on=ends, reasons=(*step.reasons, reason))
    return step


def promise_ends(*, promised_for: date, first_on: date, most_days: int | None) -> date:
    """Return the first day on which rungs go again after a promise.

    The promised day is held to its end. `most_days` counts from the first promise since the
    last rung left, so that new promises do not hold for ever. Example: said on 1 March for
    the 12th, at most 10 days: held through the 11th, free on the 12th.
    """
    last = promised_for
    if most_days is not None:
        last = min(last, first_on + timedelta(days=most_days))
    return last + ONE_DAY


def report_ends(*, received_on: date, days: int) -> date:
    """Return the first day on which overdue rungs go again though a report waits for us.

    Example: came in on 1 March, 14 days: held through the 15th, free on the 16th.
    """
    return received_on + timedelta(days=days) + ONE_DAY
