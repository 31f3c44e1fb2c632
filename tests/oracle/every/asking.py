"""Whom a rule catches, and how days are counted: of the calendar, of work, in months."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any

from tests.oracle.rules import days, months_after

Rule = dict[str, Any]
Thing = dict[str, Any]
Book = dict[str, Any]

METERED_BYPASS = {"RPDA", "RPDA-II", "DCDA", "DCDA-II"}
STRICTER = {"residential": False, "chemicals": True, "part_year": False}


def told_of(thing: Thing, name: str) -> Any:
    """What rules take a thing to be: what nobody recorded is the stricter of the two."""
    if name == "detector":
        return thing["type"] in METERED_BYPASS
    if name == "hazard":
        return "low" if thing["hazard"] == "low" else "high"
    if name == "use":
        return thing["use"].strip().lower()
    value = thing[name]
    return STRICTER[name] if value is None else value


def catches(rule: Rule, thing: Thing) -> bool:
    """`who` names, for some of the attributes, the values that are caught."""
    return all(told_of(thing, name) in values for name, values in rule.get("who", {}).items())


def first_of(rules: Iterable[Rule], thing: Thing) -> Rule | None:
    """The first rule that catches a thing; a lower `priority` stands before the list's order."""
    found = [rule for rule in rules if catches(rule, thing)]
    return min(found, key=lambda rule: rule.get("priority", 0)) if found else None


def works(day: date, holidays: Collection[date]) -> bool:
    """Monday to Friday, and no holiday."""
    return day.isoweekday() <= 5 and day not in holidays


def count_on(day: date, rule: Rule, holidays: Collection[date]) -> date:
    """The day a rule's `days` on (or back), that day itself not counted."""
    number = rule["days"]
    if not rule.get("working"):
        return day + days(number)
    step = days(1) if number > 0 else days(-1)
    while number:
        day += step
        if works(day, holidays):
            number -= 1 if number > 0 else -1
    return day


def span_on(day: date, span: tuple[str, int]) -> date:
    """A day so many months (month ends clamped) or days on."""
    unit, number = span
    return months_after(day, number) if unit == "months" else day + days(number)


def month_end(day: date) -> date:
    """The last day of the day's month."""
    return months_after(day.replace(day=1), 1) - days(1)
