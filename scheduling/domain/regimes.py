"""The three regimes in print: what comes next after a pass, and which season a pass counts for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from scheduling.domain.cycles import add_months, first_after
from scheduling.domain.rulebook import CycleRule, MonthDay, Regime

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Coming:
    """The next obligation of a cycle: what it counts from, its dates, the arithmetic."""

    counts_from: date
    due_on: date
    opens_on: date
    arithmetic: str


def coming_of(
    *, rule: CycleRule, anchor: date | None, last_passed_on: date | None, installed_on: date | None
) -> Coming | None:
    """Return what a cycle asks next, or None when there is no day to count from.

    It counts from the last pass, or from the installation where nothing has passed.
    Example (rolling, one year, opens 60 days before): last pass 2025-03-04, due
    2026-03-04, opens 2026-01-03.
    """
    base = last_passed_on or installed_on
    if base is None:
        return None
    word = "last pass" if last_passed_on is not None else "installed"
    if rule.regime is Regime.ROLLING:
        return _rolling(rule=rule, base=base, word=word)
    if rule.regime is Regime.ANNIVERSARY:
        return _anniversary(rule=rule, anchor=anchor or base, base=base, word=word)
    return _season(rule=rule, base=base, has_passed=last_passed_on is not None)


def _rolling(*, rule: CycleRule, base: date, word: str) -> Coming | None:
    due = first_after(rule.cycle, base, base)
    if due is None:
        return None
    return Coming(
        counts_from=base,
        due_on=due,
        opens_on=opens_before(rule=rule, due_on=due, origin=base),
        arithmetic=f"{word} {base} + {rule.cycle.words} = {due}",
    )


def _anniversary(*, rule: CycleRule, anchor: date, base: date, word: str) -> Coming | None:
    """Return the first anniversary whose window opens after the pass, within the cap."""
    due = first_after(rule.cycle, anchor, base + timedelta(days=rule.early_days))
    if due is None:
        return None
    window = due - timedelta(days=rule.early_days)
    said = (
        f"first anniversary of {anchor} whose window ({rule.early_days} days before) opens"
        f" after {word} {base} = {due}, its window opens {window}"
    )
    capped = first_after(rule.cap, base, base) if rule.cap is not None else None
    if rule.cap is not None and capped is not None and capped < due:
        said = f"{said}; capped at {word} {base} + {rule.cap.words} = {capped}"
        due = capped
    opens = opens_before(rule=rule, due_on=due, origin=base)
    return Coming(counts_from=anchor, due_on=due, opens_on=opens, arithmetic=said)


def _season(*, rule: CycleRule, base: date, has_passed: bool) -> Coming:
    due = season_of(rule=rule, day=base)
    said = f"first season due after {base} = {due}"
    if has_passed:
        met, due = due, season_of(rule=rule, day=next_credit(rule=rule, day=base))
        said = f"last pass {base} counts for {met}, next season due {due}"
    elif due < base:
        due = season_of(rule=rule, day=next_credit(rule=rule, day=base))
        said = f"first season due after {base} = {due}"
    opens = opens_before(rule=rule, due_on=due, origin=base)
    return Coming(counts_from=due, due_on=due, opens_on=opens, arithmetic=said)


def opens_before(*, rule: CycleRule, due_on: date, origin: date) -> date:
    """Return the day a cycle's obligation opens, not before its origin."""
    if rule.season_opens is not None:
        opens = latest(month_day=rule.season_opens, by=due_on)
    else:
        opens = due_on - timedelta(days=rule.opens_days)
    return max(opens, origin)


def season_of(*, rule: CycleRule, day: date) -> date:
    """Return the due date of the season whose credit holds a day.

    Example: due 31 May, credit from 1 October: a pass on 2025-10-01 counts for
    2026-05-31, one on 2025-09-30 for 2025-05-31.
    """
    before = latest(month_day=_credit(rule), by=day) - ONE_DAY
    due = first_after(rule.cycle, before, before)
    if due is None:
        raise ValueError(f"Season {rule.id} has no due date after {before}.")
    return due


def next_credit(*, rule: CycleRule, day: date) -> date:
    """Return the first day of the credit after the one that holds a day."""
    return clamped(_credit(rule), latest(month_day=_credit(rule), by=day).year + 1)


def latest(*, month_day: MonthDay, by: date) -> date:
    """Return the latest such day of a year that is not after a day."""
    this_year = clamped(month_day, by.year)
    return this_year if this_year <= by else clamped(month_day, by.year - 1)


def clamped(month_day: MonthDay, year: int) -> date:
    """Return the day in a year, clamped to the end of its month."""
    first = date(year, month_day.month, 1)
    return min(first + timedelta(days=month_day.day - 1), add_months(first, 1) - ONE_DAY)


def _credit(rule: CycleRule) -> MonthDay:
    if rule.credit_from is None:
        raise ValueError(f"Season {rule.id} does not say from which day a pass counts for it.")
    return rule.credit_from
