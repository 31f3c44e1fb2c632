"""One assembly's obligations, found by living through its days one after another.

A second reading of the replay rules for the teaching rulebooks, kept as plain as possible: the
state is a dict, each day is visited, each fact of the day is done in the day's order. It is slow
and shares nothing with `scheduling/domain`.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from tests.oracle.ladder import next_rung
from tests.oracle.rules import (
    CURE_DAYS,
    DAY_ORDER,
    EARLY_WINDOW_DAYS,
    EVENT_DAYS,
    EXEMPT,
    GRACE_DAYS,
    NO_DATE_DAYS,
    ROLLING_OPENS_DAYS,
    credited_season,
    days,
    months_after,
    rolling_months,
)

Fact = tuple[str, date]
State = dict[str, Any]
Row = dict[str, Any]


def answer(
    *, rulebook: str, kind: str, hazard: str, facts: Iterable[Fact], as_of: date
) -> dict[str, Any]:
    """What `replay_facts` should say of one assembly: standing, dates, next rung, obligations."""
    state = lived(rulebook=rulebook, kind=kind, hazard=hazard, facts=facts, as_of=as_of)
    row = state["open"] or state["coming"]
    named = standing(state, as_of)
    quiet = named in ("removed", "exempt", "idle") or row is None
    return {
        "standing": named,
        "opens_on": row["opens_on"] if row else None,
        "due_on": row["due_on"] if row else None,
        "next_rung": None if quiet else next_rung(row=row, left=[], today=as_of),
        "obligations": [shown(each) for each in opened_rows(state)],
    }


def lived(*, rulebook: str, kind: str, hazard: str, facts: Iterable[Fact], as_of: date) -> State:
    """The state at the end of `as_of`."""
    state = fresh_state(rulebook, kind, hazard)
    known = {fact for fact in facts if fact[1] <= as_of}  # a set: a fact told twice is one fact
    known -= passes_before_installation(known)
    if kind in EXEMPT:
        state["removed"] = any(what == "removed" for what, _ in known)
        return state
    if not known:
        open_without_dates(state, as_of)
        return state
    day = min(on for _, on in known)
    while day <= as_of and not state["removed"]:
        live_one_day(state, day, {what for what, on in known if on == day})
        day += days(1)
    return state


def fresh_state(rulebook: str, kind: str, hazard: str) -> State:
    return {
        "rulebook": rulebook,
        "kind": kind,
        "hazard": hazard or "not assessed",
        "open": None,
        "coming": None,
        "closed": [],
        "idle": False,
        "removed": False,
        "passed": False,
        "anchor": None,
        "first_pass_after_event": False,
        "season_met": None,
    }


def passes_before_installation(known: set[Fact]) -> set[Fact]:
    """A last test before the installation is kept as stated and meets nothing."""
    installed = [on for what, on in known if what == "installed"]
    if not installed:
        return set()
    return {(what, on) for what, on in known if what == "passed" and on < min(installed)}


def live_one_day(state: State, day: date, today: set[str]) -> None:
    if not state["idle"]:
        open_what_opens(state, day)
    if "failed" in today and "passed" in today and "repaired" not in today:
        today = today - {"passed"}  # reported apart, no times, no repair: the failure wins
    for what in DAY_ORDER:
        if what in today:
            take_fact(state, what, day)


def take_fact(state: State, what: str, day: date) -> None:
    blank = not state["open"] and not state["coming"]
    if blank and what in ("resumed", "failed", "idled", "removed"):
        open_without_dates(state, day)
    if what in ("installed", "repaired", "relocated"):
        take_event(state, what, day)
    elif what == "failed":
        take_failure(state, day)
    elif what == "passed":
        take_pass(state, day)
    elif what == "resumed":
        take_return(state, day)
    elif what == "idled":
        state["idle"] = True
    else:
        take_removal(state, day)


def new_row(opens_on: date, due_on: date) -> Row:
    return {
        "opens_on": opens_on,
        "due_on": due_on,
        "cycle_due": None,  # the anniversary or 31 May this row was for, None for a first one
        "season": None,
        "asked_on": [],  # events that opened it or moved its due date earlier
        "failed_on": None,
        "cure_by": None,
        "closed_on": None,
        "closed_how": None,
    }


def open_without_dates(state: State, day: date) -> None:
    state["open"] = new_row(day, day + days(NO_DATE_DAYS))
    state["open"]["asked_on"] = [day]


def open_what_opens(state: State, day: date) -> None:
    coming = state["coming"]
    if coming and coming["opens_on"] <= day:
        state["open"], state["coming"] = coming, None


def take_event(state: State, what: str, day: date) -> None:
    """Replay rule 3: pull forward what there is, or make one where there is none."""
    state["first_pass_after_event"] = True
    if what == "installed":
        state["anchor"] = day
    row = state["open"] or state["coming"]
    if row is None:
        row = state["open"] = new_row(day, day + days(EVENT_DAYS))
        row["asked_on"] = [day]
        return
    if day + days(EVENT_DAYS) < row["due_on"]:
        row["due_on"] = day + days(EVENT_DAYS)
        if day not in row["asked_on"]:  # one notice a day, also where no date was known before
            row["asked_on"].append(day)
    row["opens_on"] = min(row["opens_on"], day)
    if not state["idle"]:
        open_what_opens(state, day)


def take_failure(state: State, day: date) -> None:
    """Replay rule 7: opens the coming one, starts the cure once."""
    row = state["open"] or state["coming"]
    if row["failed_on"] is None:
        row["failed_on"] = day
        row["cure_by"] = day + days(CURE_DAYS[state["hazard"]])
    row["opens_on"] = min(row["opens_on"], day)
    if not state["idle"]:
        open_what_opens(state, day)


def take_return(state: State, day: date) -> None:
    """Replay rule 8: nothing asked, ten days' grace, what would have opened opens today."""
    if not state["idle"]:
        return
    state["idle"] = False
    coming = state["coming"]
    if coming and coming["opens_on"] <= day:
        coming["opens_on"] = day
        state["open"], state["coming"] = coming, None
    if state["open"]:
        state["open"]["due_on"] = max(state["open"]["due_on"], day + days(GRACE_DAYS))


def take_removal(state: State, day: date) -> None:
    state["removed"] = True
    state["coming"] = None
    if state["open"]:
        close(state, state["open"], day, "excused")
        state["open"] = None


def close(state: State, row: Row, day: date, how: str) -> None:
    row["closed_on"], row["closed_how"] = day, how
    state["closed"].append(row)


def take_pass(state: State, day: date) -> None:
    state["passed"] = True
    row = state["open"]
    if row is None and state["coming"] and state["coming"]["opens_on"] <= day:
        row = state["coming"]  # idle: it would have opened; the pass opens and closes it
        row["opens_on"] = day
    take = {
        "plain-rolling": pass_rolling,
        "plain-anniversary": pass_anniversary,
        "plain-season": pass_season,
    }
    take[state["rulebook"]](state, row, day)
    state["open"] = None
    state["first_pass_after_event"] = False


def pass_rolling(state: State, row: Row | None, day: date) -> None:
    """Replay rule 4: any pass closes it, also one not yet open; next is pass + cycle."""
    if row is None and state["coming"]:
        row = state["coming"]
        row["opens_on"] = day
    if row:
        close(state, row, day, "met")
    due = months_after(day, rolling_months(state["kind"], state["hazard"]))
    state["coming"] = new_row(max(day, due - days(ROLLING_OPENS_DAYS)), due)


def pass_anniversary(state: State, row: Row | None, day: date) -> None:
    """Replay rule 5: in the window or late it keeps the anniversary, earlier it re-anchors."""
    planned = row or state["coming"]
    early = planned and planned["cycle_due"] and day < window_opens(planned["cycle_due"])
    if state["anchor"] is None or (early and not state["first_pass_after_event"]):
        state["anchor"] = day
    if row:
        close(state, row, day, "met")
    years = 1
    while window_opens(months_after(state["anchor"], 12 * years)) <= day:
        years += 1
    due = months_after(state["anchor"], 12 * years)
    state["coming"] = new_row(window_opens(due), due)
    state["coming"]["cycle_due"] = due


def window_opens(due: date) -> date:
    return due - days(EARLY_WINDOW_DAYS)


def pass_season(state: State, row: Row | None, day: date) -> None:
    """Replay rule 6: a pass meets the season whose credit holds it."""
    season = credited_season(day)
    if row and row["season"] is not None and row["season"] >= season:
        close(state, row, day, "met")
    elif row and row["season"] is None:
        close(state, row, day, "met")  # a first obligation is met by any pass ...
        meet_season(state, season, day)  # ... which also meets the credited season
    else:
        if row and state["open"]:
            close(state, row, day, "missed")
        meet_season(state, season, day)
    state["season_met"] = season
    state["coming"] = season_row(season + 1)


def meet_season(state: State, season: int, day: date) -> None:
    """A row of its own, opened and closed that day, unless that season was met before."""
    if state["season_met"] == season:
        return
    row = season_row(season)
    row["opens_on"] = day
    close(state, row, day, "met")


def season_row(season: int) -> Row:
    row = new_row(date(season, 3, 1), date(season, 5, 31))
    row["season"] = season
    row["cycle_due"] = row["due_on"]
    return row


def standing(state: State, day: date) -> str:
    """The first name that holds, in the glossary's order."""
    row = state["open"]
    claims = {
        "removed": state["removed"],
        "exempt": state["kind"] in EXEMPT,
        "idle": state["idle"],
        "failed": row and row["cure_by"],
        "overdue": row and row["due_on"] < day,
        "untested": not state["passed"],
        "due": row,
    }
    return next((name for name, holds in claims.items() if holds), "good")


def opened_rows(state: State) -> list[Row]:
    return state["closed"] + ([state["open"]] if state["open"] else [])


def shown(row: Row) -> dict[str, Any]:
    names = ["opens_on", "due_on", "cure_by", "closed_on", "closed_how"]
    return {"kind": "test"} | {name: row[name] for name in names}
