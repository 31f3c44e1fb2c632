"""When the next one is due under each regime, with caps, late days, repeats and month ends."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.oracle.every.asking import Rule, first_of, month_end, span_on
from tests.oracle.rules import days, months_after

Life = dict[str, Any]
Row = dict[str, Any]


def new_row(base: str, opens_on: date, due_on: date) -> Row:
    """One obligation as a plain dict; `base` says what it springs from: cycle, event, none."""
    return {
        "base": base,
        "opens_on": opens_on,
        "due_on": due_on,
        "open_days": days(0),  # how long before its due date it opens
        "window": None,  # of an anniversary: the first day on which a pass meets it
        "period": None,  # the anniversary or the season's end that it is for
        "asks": [],  # the days by which events asked for it
        "prompts": [],  # of those, the days that opened it or moved its due date earlier
        "extended_to": None,
        "courtesy_over": False,
        "failed_on": None,
        "cure_by": None,
        "closed_on": None,
        "closed_how": None,
    }


def cycle_rule(life: Life) -> Rule | None:
    """The cycle that holds today for the thing as it is today."""
    mine = [rule for rule in life["book"]["cycles"] if rule["kind"] == life["kind"]]
    return first_of(mine, life["thing"])


def repeat_rule(life: Life) -> Rule | None:
    """The rule for repeat failures that holds today."""
    mine = [rule for rule in life["book"]["repeats"] if rule["kind"] == life["kind"]]
    return first_of(mine, life["thing"])


def next_row(life: Life) -> Row:
    """The obligation that comes after the last pass (or the installation, where none passed)."""
    rule = cycle_rule(life)
    assert rule is not None
    made = {"rolling": rolling, "anniversary": anniversary, "season": season}
    row = made[rule["regime"]](life, rule, life["last_pass"] or life["installed"])
    row["open_days"] = row["due_on"] - row["opens_on"]
    row["opens_on"] = max(row["opens_on"], life["last_pass"] or life["installed"])
    return row


def rolling(life: Life, rule: Rule, last: date) -> Row:
    due = limited(life, rule, ended(rule, span_on(last, rule["every"])), last)
    return new_row("cycle", due - days(rule["opens_days"]), due)


def ended(rule: Rule, due: date) -> date:
    return month_end(due) if rule.get("month_end") else due


def limited(life: Life, rule: Rule, due: date, last: date) -> date:
    """Cap and repeat failures: no later than so long after the last pass."""
    if rule.get("cap"):
        due = min(due, span_on(last, rule["cap"]))
    repeat = repeat_rule(life)
    if repeat and life["rounds"][-repeat["of_last"] :].count(True) >= repeat["failures"]:
        due = min(due, span_on(last, repeat["every"]))
    return due


def anniversary(life: Life, rule: Rule, last: date) -> Row:
    """The first anniversary, later than the one met, whose window opens after the last pass."""
    anchor, turn = anchor_of(life), 1
    both = days(rule["early"] + rule["late"])
    while True:
        day = span_on(anchor, (rule["every"][0], rule["every"][1] * turn))
        lawful = ended(rule, day + days(rule["late"]))
        if lawful - both > last and (life["met"] is None or day > life["met"]):
            break
        turn += 1
    due = limited(life, rule, lawful, last)
    row = new_row("cycle", due - days(rule["opens_days"]), due)
    row["period"], row["window"] = day, due - both
    return row


def anchor_of(life: Life) -> date:
    """The day anniversaries count from: a re-anchoring pass, the installation, the first pass.

    The first pass is the first that anniversaries were counted from: where another regime held
    before, the last one under it.
    """
    if life["anchor"] is None:
        life["anchor"] = life["installed"] or life["last_pass"]
    found = life["anchor"]
    assert isinstance(found, date)
    return found


def season(life: Life, rule: Rule, last: date) -> Row:
    """The season after the one whose credit holds the last pass."""
    end = credited(rule, last)
    if life["last_pass"] or end < last:  # a season that runs at the installation is to be met
        end = season_end(rule, end.year + 1)
    due = limited(life, rule, ended(rule, end), last)
    row = new_row("cycle", season_start(rule, end) - (end - due if due < end else days(0)), due)
    row["period"] = end
    return row


def season_end(rule: Rule, year: int) -> date:
    return date(year, *rule["ends"])


def season_start(rule: Rule, end: date) -> date:
    """The last opening day on or before the season's end."""
    start = date(end.year, *rule["opens"])
    return start if start <= end else months_after(start, -12)


def credited(rule: Rule, passed_on: date) -> date:
    """The end of the season whose credit holds a pass.

    The credit runs from the day after the cut-off (or, where none is given, from the season's
    first day) to the day before the next; it is the season that ends first after it began.
    """
    month_day = rule.get("credit_from") or rule["opens"]
    began = date(passed_on.year, *month_day)
    if began > passed_on:
        began = date(passed_on.year - 1, *month_day)
    end = season_end(rule, began.year)
    return end if end >= began else season_end(rule, began.year + 1)
