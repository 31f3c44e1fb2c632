"""Where a subject stands on a day: the first that holds, by comparing dates with that day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from scheduling.domain.ledger import Ledger


class Standing(StrEnum):
    """The standings in the order in which they are asked; the first that holds wins."""

    REMOVED = "removed"
    EXEMPT = "exempt"
    IDLE = "idle"
    FAILED = "failed"
    OVERDUE = "overdue"
    UNTESTED = "untested"
    DUE = "due"
    GOOD = "good"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingDates:
    """The few dates that decide a standing; `opens_on`, `due_on` of what is open or coming."""

    removed_on: date | None
    is_exempt: bool
    idle_since: date | None
    failed_on: date | None
    last_passed_on: date | None
    opens_on: date | None
    due_on: date | None


def standing_on(*, dates: StandingDates, day: date) -> Standing:
    """Return the standing on a day no earlier than the facts behind the dates.

    Example: due 2025-09-04, opened 2025-07-06, passed before: due on 4 September,
    overdue on 5 September.
    """
    set_apart = _set_apart(dates=dates, day=day)
    if set_apart is not None:
        return set_apart
    is_open = dates.opens_on is not None and dates.opens_on <= day
    if is_open and dates.failed_on is not None:
        return Standing.FAILED
    if is_open and dates.due_on is not None and dates.due_on < day:
        return Standing.OVERDUE
    if dates.last_passed_on is None:
        return Standing.UNTESTED
    return Standing.DUE if is_open else Standing.GOOD


def _set_apart(*, dates: StandingDates, day: date) -> Standing | None:
    """Return the standing of one that nothing is asked of now, or None."""
    if dates.removed_on is not None and dates.removed_on <= day:
        return Standing.REMOVED
    if dates.is_exempt:
        return Standing.EXEMPT
    is_idle = dates.idle_since is not None and dates.idle_since <= day
    return Standing.IDLE if is_idle else None


def standing(ledger: Ledger, day: date) -> Standing:
    """Return where the subject of a ledger stands on a day on or after the ledger's own.

    For an earlier day replay with that day: due dates may have moved since. Raises
    ValueError for one.
    """
    if day < ledger.as_of:
        raise ValueError(f"The ledger is of {ledger.as_of}: replay as of {day} instead.")
    return standing_on(dates=dates_of(ledger), day=day)


def dates_of(ledger: Ledger) -> StandingDates:
    """Return the dates of a ledger that decide its standing."""
    current = ledger.current
    return StandingDates(
        removed_on=ledger.removed_on,
        is_exempt=ledger.is_exempt,
        idle_since=ledger.idle_since,
        failed_on=current.failed_on if current else None,
        last_passed_on=ledger.last_passed_on,
        opens_on=current.opens_on if current else None,
        due_on=current.due_on if current else None,
    )
