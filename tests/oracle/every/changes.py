"""A change of rulebook or of the thing in mid-cycle, and an exemption that begins or ends."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from tests.oracle.every.asking import Rule, count_on
from tests.oracle.every.cycles import Life, Row, cycle_rule, new_row, next_row, repeat_rule
from tests.oracle.every.turns import current, event_rule, excuse, held, no_date_row, purpose, put
from tests.oracle.rules import days

Rules = tuple[Rule | None, Rule | None]
LONG_AGO = date(1900, 1, 1)


def rules_of(life: Life) -> Rules:
    """The cycle and the rule for repeat failures that hold today, as far as they set dates."""
    return dates_of(cycle_rule(life)), dates_of(repeat_rule(life))


def dates_of(rule: Rule | None) -> Rule | None:
    """A rule without whom it catches, and before which others."""
    return rule and {name: rule[name] for name in rule if name not in ("who", "priority")}


def take_change(
    life: Life, day: date, *, was_asked: bool, is_asked: bool, old_rules: Rules
) -> None:
    """Open and coming obligations follow the new rule from its day."""
    if was_asked and not is_asked:
        excuse_and_remember(life, day, days(1))
    elif is_asked and not was_asked:
        begin_again(life, day)
    elif is_asked:
        row = current(life)
        if row and row["base"] != "event" and cycle_rule(life) is None:
            if row["opens_on"] >= day:  # what is open, or waits for the return to use, stays
                life["coming"] = None  # asked for by events alone now
        elif row and rules_of(life) != old_rules:
            follow(life, row, day)
        elif not row and old_rules[0] is None:
            begin_again(life, day)


def take_exemption(life: Life, day: date, *, is_asked: bool) -> None:
    if life["exempted"]:
        return
    life["exempted"] = True
    if is_asked:
        excuse_and_remember(life, day, days(0))


def excuse_and_remember(life: Life, day: date, before: timedelta) -> None:
    """What is owed, or waits for the return to use, is asked for again with the rest."""
    row = current(life)
    if row and (row is life["open"] or row["opens_on"] <= day - before):
        life["excused"] = dict(row)
    excuse(life, day)


def take_inclusion(life: Life, day: date, asks: Callable[[Life], bool]) -> None:
    if not life["exempted"]:
        return
    life["exempted"] = False
    if asks(life):
        begin_again(life, day, is_included=True)


def begin_again(life: Life, day: date, *, is_included: bool = False) -> None:
    """Newly asked for: what the law would ask, never sooner than the days of transition."""
    is_unknown = not life["last_pass"] and not life["installed"] and day < life["known_from"]
    first = None if life["last_pass"] else first_rule(life, is_included=is_included)
    floor = purpose(life, "transition", day) or day
    excused, life["excused"] = life["excused"], None
    row = None
    if first:
        due = count_on(life["installed"], first, life["holidays"])
        row = new_row("event", life["installed"], due)  # the first test, owed again
        row["prompts"] = [day]
    elif cycle_rule(life) and not is_unknown:
        row = lawful_row(life, day)
    if row:
        row["due_on"] = max(row["due_on"], floor)
        row["opens_on"] = max(row["opens_on"], day)
    if first and row:
        row["extended_to"] = row["due_on"]
    if excused and not first:
        row = with_its_events(row, excused, day, floor)
    if excused:
        row = with_its_failure(life, row, excused, day, floor)
    if row:
        put(life, row, day)


def with_its_events(row: Row | None, excused: Row, day: date, floor: date) -> Row | None:
    """What events had asked for and nobody did is asked for again, with days to do it in."""
    if not excused["asks"]:
        return row
    asked = min(excused["asks"])
    if row is None or row["base"] == "none":
        row = new_row("event", day, max(asked, floor))
        row["prompts"] = [day]
    elif max(asked, floor) < row["due_on"]:
        row["due_on"] = max(asked, floor)
        row["prompts"] = [day]
    row["opens_on"], row["asks"], row["extended_to"] = day, [asked], row["due_on"]
    return row


def with_its_failure(
    life: Life, row: Row | None, excused: Row, day: date, floor: date
) -> Row | None:
    """A later day that was given stands, and so does a failure that nobody cured."""
    if row is None and excused["failed_on"]:
        row = new_row("event", day, max(excused["due_on"], floor))
        row["prompts"] = [day]
    if row is None:
        return None
    if excused["extended_to"]:
        row["extended_to"] = max(excused["extended_to"], row["extended_to"] or LONG_AGO)
        row["due_on"] = max(row["due_on"], excused["extended_to"])
    if excused["failed_on"]:
        row["failed_on"], row["opens_on"] = excused["failed_on"], min(row["opens_on"], day)
        if excused["cure_by"]:
            row["cure_by"] = held(life, max(excused["cure_by"], floor))
    return row


def first_rule(life: Life, *, is_included: bool) -> Rule | None:
    """The rule that asked for a first test; a person's inclusion looks at today's book too."""
    today = event_rule(life, "installed", life["installed"]) if life["installed"] else None
    found: Rule | None = (today if is_included else None) or life["first_asked"]
    return found


def lawful_row(life: Life, day: date) -> Row:
    """What today's rules ask of a thing with this past."""
    if life["last_pass"]:
        return next_row(life)
    if life["installed"]:
        return next_row(life)
    return no_date_row(life, day)


def follow(life: Life, row: Row, day: date) -> None:
    """An earlier date is floored at the days of transition; the floor makes none later."""
    new = lawful_again(life, row)
    due = new["due_on"]
    due = min([due, *row["asks"]])  # what an event asked for stands as it was asked
    if due < row["due_on"]:
        due = min(row["due_on"], max(due, purpose(life, "transition", day) or day))
    if row["extended_to"]:
        due = max(due, row["extended_to"])
    row["due_on"] = held(life, due)
    if row is life["coming"] and row["opens_on"] >= day:
        opens = new["opens_on"] if due == new["due_on"] else due - new["open_days"]
        row["opens_on"] = max(opens, day)
    for name in ("window", "period"):
        row[name] = new[name]


def lawful_again(life: Life, row: Row) -> Row:
    """The row as the new rules would have it; an event's own row keeps to its event."""
    if row["base"] == "cycle" and cycle_rule(life):
        return next_row(life)
    return row
