"""The sentence an assembly's page opens with: its standing, by how much, and which day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from registry.templatetags.wording import day, long_day
from scheduling.domain.standing import Standing


@dataclass(frozen=True, kw_only=True)
class StandingDays:
    """The days a sentence about a standing needs."""

    opens_on: date | None = None
    due_on: date | None = None
    cure_by: date | None = None
    failed_on: date | None = None
    idle_since: date | None = None
    removed_on: date | None = None
    last_passed_on: date | None = None


def standing_sentence(standing: Standing, *, days: StandingDays, today: date) -> str:
    """What follows the standing's word. Example: ` by 82 days. The test was due September 4, 2025.`

    The word itself is left to the page, which sets it in its tone.
    """
    if standing is Standing.OVERDUE:
        late = _days((today - days.due_on).days) if days.due_on else ""
        return f" by {late}. The test was due {long_day(days.due_on)}."
    if standing is Standing.DUE:
        return f" {_until(days.due_on, today)}. The test is due {long_day(days.due_on)}."
    if standing is Standing.FAILED:
        return _failed(days)
    if standing is Standing.UNTESTED:
        first = f" The first test is due {long_day(days.due_on)}." if days.due_on else ""
        return f". No passing test is known.{first}"
    if standing is Standing.GOOD:
        return _good(days)
    idle_since = long_day(days.idle_since)
    return {
        Standing.IDLE: f" since {idle_since}. The clock rests until it is back in use.",
        Standing.REMOVED: f" on {long_day(days.removed_on)}. Nothing is owed any more.",
        Standing.EXEMPT: ". The rulebook asks no field test of it.",
    }[standing]


def _failed(days: StandingDays) -> str:
    since = f" on {long_day(days.failed_on)}" if days.failed_on else ""
    cure = days.cure_by or days.due_on
    by = f" Repair and a passing test are owed by {long_day(cure)}." if cure else ""
    return f"{since}.{by}"


def _good(days: StandingDays) -> str:
    passed = f" Last passed {long_day(days.last_passed_on)}." if days.last_passed_on else ""
    due = f" The next test is due {long_day(days.due_on)}." if days.due_on else ""
    return f".{passed}{due}"


def standing_note(standing: str, *, days: StandingDays, today: date) -> str:
    """The second line of a standing in a list: `82 days`, `in 9 days`, `since Nov 19 2025`."""
    if standing == Standing.OVERDUE and days.due_on:
        return _days((today - days.due_on).days)
    if standing == Standing.DUE and days.due_on:
        return _until(days.due_on, today)
    if standing == Standing.FAILED and days.failed_on:
        return f"since {day(days.failed_on, today)}"
    if standing == Standing.IDLE and days.idle_since:
        return f"since {day(days.idle_since, today)}"
    if standing == Standing.UNTESTED and days.due_on:
        gone = (today - days.due_on).days
        return (
            f"{_days(gone)} past its day" if gone > 0 else f"first due {_until(days.due_on, today)}"
        )
    return ""


def _until(on: date | None, today: date) -> str:
    ahead = (on - today).days if on else 0
    return "today" if ahead <= 0 else f"in {_days(ahead)}"


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"
