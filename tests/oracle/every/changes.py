"""A change of rulebook or of the thing in mid-cycle, and an exemption that begins or ends."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from tests.oracle.every.asking import Rule, count_on
from tests.oracle.every.cycles import Life, Row, cycle_rule, new_row, next_row, repeat_rule
from tests.oracle.every.turns import current, event_rule, excuse, held, no_date_row, purpose, put

Rules = tuple[Rule | None, Rule | None]


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
        excuse(life, day)
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


def take_exemption(life: Life, day: date) -> None:
    life["exempted"] = True
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
    if is_unknown or not (first or cycle_rule(life)):
        return
    if first:
        due = count_on(life["installed"], first, life["holidays"])
        row = new_row("event", life["installed"], due)  # the first test, owed again
        row["prompts"] = [day]
    else:
        row = lawful_row(life, day)
    floor = purpose(life, "transition", day) or day
    row["due_on"] = max(row["due_on"], floor)
    row["opens_on"] = max(row["opens_on"], day)
    put(life, row, day)


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
