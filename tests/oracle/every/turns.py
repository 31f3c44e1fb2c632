"""What turns an obligation: opening, events, failures, idle times, removal, decisions."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.oracle.every.asking import Rule, catches, count_on, first_of
from tests.oracle.every.cycles import Life, Row, cycle_rule, new_row, next_row
from tests.oracle.rules import days, months_after

RETURNS = {"resumed", "reoccupied", "dewinterised"}


def put(life: Life, row: Row, day: date) -> None:
    """A row made today opens today unless its day is to come, or the thing is idle."""
    row["due_on"] = held(life, row["due_on"])
    life["coming"] = row
    if not life["idle_since"]:
        open_what_opens(life, day)


def open_what_opens(life: Life, day: date) -> None:
    coming = life["coming"]
    if coming and coming["opens_on"] <= day:
        life["open"], life["coming"] = coming, None


def current(life: Life) -> Row | None:
    row: Row | None = life["open"] or life["coming"]
    return row


def close(life: Life, row: Row, day: date, how: str) -> None:
    row["closed_on"], row["closed_how"] = str(day), how
    life["closed"].append(row)


def held(life: Life, day: date) -> date:
    """A date within a hold, its last day apart, moves to the hold's last day."""
    for first, last in sorted(life["holds"]):
        if first <= day < last:
            day = last
    return day


def purpose(life: Life, name: str, day: date) -> date | None:
    """So many days on for a purpose (cure, grace, no_date, transition); None: not given."""
    rule = first_of(life["book"][name], life["thing"])
    return count_on(day, rule, life["holidays"]) if rule else None


def no_date_row(life: Life, day: date) -> Row:
    row = new_row("none", day, purpose(life, "no_date", day) or day)
    row["prompts"] = [day]
    return row


def event_rule(life: Life, word: str, day: date) -> Rule | None:
    """The first rule that asks for this kind of work after this event, idle long enough."""
    since = life["idle_since"]
    for rule in life["book"]["events"]:
        if rule["event"] != word or rule["kind"] != life["kind"]:
            continue
        months = rule.get("idle_months", 0)
        is_long = not months or (since and day > months_after(since, months))
        if catches(rule, life["thing"]) and is_long:
            found: Rule = rule
            return found
    return None


def take_event(life: Life, day: date, rule: Rule | None) -> None:
    """Pull forward what there is, or make one where there is none."""
    if rule is None:
        return
    due = held(life, count_on(day, rule, life["holidays"]))
    row = current(life)
    if row is None:
        row = new_row("event", day, due)
        row["prompts"] = [day]
        row["asks"] = [due]
        put(life, row, day)
        return
    row["asks"].append(due)
    opened_it = life["coming"] is row and row["opens_on"] > day
    if (due < row["due_on"] or opened_it) and day not in row["prompts"]:
        row["prompts"].append(day)
    if due < row["due_on"]:
        row["due_on"], row["extended_to"] = due, None
    row["opens_on"] = min(row["opens_on"], day)
    if not life["idle_since"]:
        open_what_opens(life, day)


def take_installation(life: Life, day: date) -> None:
    life["installed"], life["anchor"], life["after_event"] = day, None, True
    life["first_asked"] = rule = event_rule(life, "installed", day)
    if rule is None and current(life) is None and cycle_rule(life):
        put(life, next_row(life), day)  # nothing asks for a first test: the cycle runs from here
    take_event(life, day, rule)


def take_failure(life: Life, day: date) -> None:
    """Opens the coming one, starts the cure once."""
    row = current(life)
    if row is None:
        return
    if row["failed_on"] is None:
        row["failed_on"] = day
        cure = purpose(life, "cures", day)
        row["cure_by"] = held(life, cure) if cure else None
    row["opens_on"] = min(row["opens_on"], day)
    if not life["idle_since"]:
        open_what_opens(life, day)


def take_return(life: Life, word: str, day: date, *, is_asked: bool) -> None:
    """What would have opened opens today; a test is asked for, or some days of grace are given."""
    rule = event_rule(life, word, day) if is_asked else None
    was_idle = life["idle_since"] is not None
    if not was_idle and word == "resumed":
        return
    life["idle_since"] = None
    coming = life["coming"]
    if was_idle and coming and coming["opens_on"] <= day:
        coming["opens_on"] = day
        life["open"], life["coming"] = coming, None
    if rule:
        take_event(life, day, rule)
    elif was_idle and life["open"]:
        grace = purpose(life, "grace", day)
        if grace and grace > life["open"]["due_on"]:
            life["open"]["extended_to"] = grace
            life["open"]["due_on"] = held(life, grace)


def take_removal(life: Life, day: date) -> None:
    life["removed"] = True
    excuse(life, day)


def excuse(life: Life, day: date) -> None:
    """What is open is excused; what was only coming leaves no row."""
    if life["open"]:
        close(life, life["open"], day, "excused")
    life["open"] = life["coming"] = None


def take_extension(life: Life, day: date, until: date) -> None:
    row = current(life)
    if row is None or until <= row["due_on"]:
        return  # moves no due date later: a person is told
    row["courtesy_over"] = row["courtesy_over"] or row["due_on"] < day
    row["due_on"] = row["extended_to"] = held(life, until)


def take_hold(life: Life, day: date, until: date) -> None:
    life["holds"].append((day, until))
    row = current(life)
    if row:
        row["due_on"] = held(life, row["due_on"])
        row["cure_by"] = held(life, row["cure_by"]) if row["cure_by"] else None


def quiet_days(life: Life) -> list[tuple[date, Any]]:
    """Holds and stopped clocks as first and last day (None: no end is known)."""
    return [*life["holds"], *((first, last) for first, last in life["stops"])]


def take_stop(life: Life, day: date, cause: str) -> None:
    life["stopping"].add(cause)
    if not life["stops"] or life["stops"][-1][1] is not None:
        life["stops"].append((day, None))


def take_restart(life: Life, day: date, cause: str) -> None:
    """The clock runs again once nothing stops it any more."""
    life["stopping"].discard(cause)
    if not life["stopping"] and life["stops"] and life["stops"][-1][1] is None:
        life["stops"][-1] = (life["stops"][-1][0], day - days(1))
