"""The three regimes in print: what comes next after a pass, and which season a pass counts for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

from scheduling.domain.cycles import Cycle, add_months, first_after
from scheduling.domain.rules import CycleRule, MonthDay, Regime
from scheduling.domain.workdays import ONE_DAY


@dataclass(frozen=True, slots=True)
class Coming:
    """The next obligation of a cycle: what it counts from, its dates, the arithmetic.

    `cycle_due` names the period: a season's last day, an anniversary; a cap may come before.
    `said` is the arithmetic with the day it opens, `anniversary` that day itself, before late
    days and month end.
    """

    counts_from: date
    due_on: date
    cycle_due: date
    opens_on: date
    arithmetic: str
    said: str = ""
    anniversary: date | None = None


def coming_of(
    *,
    rule: CycleRule,
    anchor: date | None,
    last_passed_on: date | None,
    installed_on: date | None,
    tightened_to: Cycle | None = None,
    met_through: date | None = None,
) -> Coming | None:
    """Return what a cycle asks next, or None when there is no day to count from.

    It counts from the last pass, or from the installation where nothing has passed.
    `tightened_to`: the longest time since then after repeat failures. `met_through`: the
    last anniversary met, which is not asked again.
    Example (rolling, one year, opens 60 days before): last pass 2025-03-04, due
    2026-03-04, opens 2026-01-03.
    """
    base = last_passed_on or installed_on
    if base is None:
        return None
    counted = anchor if rule.regime is Regime.ANNIVERSARY else None
    met = met_through if met_through is not None and met_through > base else None
    return _counted_from(rule, base, last_passed_on is not None, counted, tightened_to, met)


@lru_cache(maxsize=65536)
def _counted_from(
    rule: CycleRule,
    base: date,
    has_passed: bool,
    anchor: date | None,
    tightened_to: Cycle | None,
    met: date | None,
) -> Coming | None:
    """Work out each rule and day once: assemblies of a registry share most of them."""
    word = "last pass" if has_passed else "installed"
    if rule.regime is Regime.ROLLING:
        coming = _rolling(rule=rule, base=base, word=word)
    elif rule.regime is Regime.ANNIVERSARY:
        since = (word, base)
        coming = _anniversary(rule=rule, anchor=anchor or base, since=since, met=met)
    else:
        coming = _season(rule=rule, base=base, has_passed=has_passed)
    if coming is None:
        return None
    for words, due in _caps(rule, base=base, tightened_to=tightened_to):
        said = f"capped at {word} {base} + {words} = {due}"
        coming = _capped(coming, rule=rule, due=due, base=base, said=said)
    return replace(coming, said=f"{coming.arithmetic}; opens {coming.opens_on}")


def _caps(rule: CycleRule, *, base: date, tightened_to: Cycle | None) -> Iterator[tuple[str, date]]:
    """Yield the longest times since the last pass, in words, and where they end."""
    for cap in (rule.cap, tightened_to):
        due = None if cap is None else first_after(cap, base, base)
        if cap is not None and due is not None:
            yield cap.words, due
    if rule.cap_days:
        yield f"{rule.cap_days} days", base + timedelta(days=rule.cap_days)


def _capped(coming: Coming, *, rule: CycleRule, due: date, base: date, said: str) -> Coming:
    """Bring a due date forward to the longest time since the last pass."""
    if due >= coming.due_on:
        return coming
    cycle_due = due if rule.regime is Regime.ROLLING else coming.cycle_due
    return replace(
        coming,
        due_on=due,
        cycle_due=cycle_due,
        opens_on=opens_before(rule=rule, due_on=due, origin=base, cycle_due=cycle_due),
        arithmetic=f"{coming.arithmetic}; {said}",
    )


def _rolling(*, rule: CycleRule, base: date, word: str) -> Coming | None:
    plain = first_after(rule.cycle, base, base)
    if plain is None:
        return None
    due = _to_month_end(plain, rule=rule)
    return Coming(
        counts_from=base,
        due_on=due,
        cycle_due=due,
        opens_on=opens_before(rule=rule, due_on=due, origin=base),
        arithmetic=f"{word} {base} + {rule.cycle.words} = {plain}{_moved(plain, due)}",
    )


def _anniversary(
    *, rule: CycleRule, anchor: date, since: tuple[str, date], met: date | None
) -> Coming | None:
    """Return the first anniversary whose window opens after the pass, and none that was met."""
    word, base = since
    opens_after = base + timedelta(days=rule.window_days)
    day = first_after(rule.cycle, anchor, opens_after - timedelta(days=rule.late_days + 31))
    while day is not None and (
        _anniversary_due(day, rule=rule) <= opens_after or (met is not None and day <= met)
    ):
        day = first_after(rule.cycle, anchor, day)
    if day is None:
        return None
    due = _anniversary_due(day, rule=rule)
    window = due - timedelta(days=rule.window_days)
    said = (
        f"first anniversary of {anchor} whose window ({rule.early_days} days before) opens"
        f" after {word} {base} = {day}{_moved(day, due)}, its window opens {window}"
    )
    opens = opens_before(rule=rule, due_on=due, origin=base)
    return Coming(
        counts_from=anchor,
        due_on=due,
        cycle_due=due,
        opens_on=opens,
        arithmetic=said,
        anniversary=day,
    )


def _anniversary_due(day: date, *, rule: CycleRule) -> date:
    return _to_month_end(day + timedelta(days=rule.late_days), rule=rule)


def _to_month_end(day: date, *, rule: CycleRule) -> date:
    """Return the last day of the month, where the rule goes by months; the anchor is unmoved."""
    return add_months(day.replace(day=1), 1) - ONE_DAY if rule.month_end else day


def _moved(plain: date, due: date) -> str:
    return "" if plain == due else f", so due {due}"


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
    return Coming(counts_from=due, due_on=due, cycle_due=due, opens_on=opens, arithmetic=said)


def opens_before(
    *, rule: CycleRule, due_on: date, origin: date, cycle_due: date | None = None
) -> date:
    """Return the day a cycle's obligation opens, not before its origin.

    A season brought forward by a cap opens as long before its due date as the season does.
    """
    if rule.season_opens is None:
        return max(due_on - timedelta(days=rule.opens_days), origin)
    last = cycle_due or due_on
    opens = latest(month_day=rule.season_opens, by=last)
    return max(due_on - (last - opens), origin)


def season_of(*, rule: CycleRule, day: date) -> date:
    """Return the due date of the season whose credit holds a day.

    Example: due 31 May, credit from 1 October: a pass on 2025-10-01 counts for
    2026-05-31, one on 2025-09-30 for 2025-05-31.
    """
    return _season_of(rule, day)


@lru_cache(maxsize=65536)
def _season_of(rule: CycleRule, day: date) -> date:
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
    """Return the first day whose passes count for a season; not said: the season's own first."""
    found = rule.credit_from or rule.season_opens
    if found is None:
        raise ValueError(f"Season {rule.id} does not say from which day a pass counts for it.")
    return found
