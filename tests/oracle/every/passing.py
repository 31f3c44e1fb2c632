"""What a pass does under each regime, to the state of one kind of work."""

from __future__ import annotations

from datetime import date

from tests.oracle.every.asking import Rule
from tests.oracle.every.cycles import Life, Row, anchor_of, credited, cycle_rule, new_row, next_row
from tests.oracle.every.turns import close, put, take_failure


def take_pass(life: Life, day: date, *, is_asked: bool, found_failed: bool) -> None:
    if found_failed and is_asked:
        take_failure(life, day)  # one report: found failing, mended and passed
        life["after_event"] = True
    row = life["open"]
    if row is None and life["coming"] and life["coming"]["opens_on"] <= day:
        row = life["coming"]  # idle: it would have opened; the pass opens and closes it
        row["opens_on"] = day
    rule = cycle_rule(life) if is_asked else None
    regime = rule["regime"] if rule else None
    life["rounds"].append(found_failed or bool(row and row["failed_on"]))
    before = life["last_pass"]
    life["last_pass"] = day
    life["excused"] = None
    life["first_pass"] = life["first_pass"] or day
    if rule is None:
        anchor_of(life)  # not asked, and yet the first pass that anniversaries count from
    if regime == "season" and rule:
        meet_season(life, rule, row, day, before)
    elif regime == "anniversary":
        meet_anniversary(life, row, day)
    elif regime == "rolling":
        row = row or life["coming"]
        if row:
            row["opens_on"] = min(row["opens_on"], day)
    if row and row["closed_on"] is None and is_met(life, rule, row, day):
        close(life, row, day, "met")
    planned = life["coming"]
    life["open"] = life["coming"] = None
    life["after_event"] = False
    if rule:
        put(life, coming_after(life, rule, planned), day)


def coming_after(life: Life, rule: Rule, planned: Row | None) -> Row:
    """The next; a pass for a season already met leaves the coming one its extension."""
    coming = next_row(life)
    is_season = rule["regime"] == "season" and planned and planned["closed_on"] is None
    if is_season and planned and planned["extended_to"] and planned["period"] == coming["period"]:
        coming["extended_to"] = planned["extended_to"]
        coming["due_on"] = max(coming["due_on"], planned["extended_to"])
        coming["courtesy_over"] = planned["courtesy_over"]
    return coming


def is_met(life: Life, rule: Rule | None, row: Row, day: date) -> bool:
    """An earlier season that would have opened in idle times, and never did, leaves no row."""
    if rule is None or rule["regime"] != "season" or life["open"] is row or not row["period"]:
        return True
    return bool(row["period"] >= credited(rule, day))


def meet_anniversary(life: Life, row: Row | None, day: date) -> None:
    """In the window or late it keeps the anniversary; earlier it re-anchors to its own day."""
    planned = row or life["coming"]
    window = planned and planned["window"]
    if window and day < window and not life["after_event"]:
        life["anchor"], life["met"] = day, None
    elif window and day >= window:
        life["met"] = planned["period"]
        if row is None:
            planned["opens_on"] = day
            close(life, planned, day, "met")


def meet_season(life: Life, rule: Rule, row: Row | None, day: date, before: date | None) -> None:
    """A pass meets the period whose credit holds it, and any first obligation."""
    end = credited(rule, day)
    if row and row["period"] and row["period"] < end:
        if life["open"]:
            close(life, row, day, "missed")
    elif row and row["period"]:
        return  # its own season, or a later one that was opened early
    if before is None or credited(rule, before) != end:
        mine = new_row("cycle", day, end)
        if life["coming"] and life["coming"]["period"] == end:
            mine["due_on"] = life["coming"]["due_on"]
        close(life, mine, day, "met")
