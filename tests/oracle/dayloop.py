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
from tests.oracle.passes import State, pass_anniversary, pass_rolling, pass_season
from tests.oracle.rows import Row, close, new_row, shown
from tests.oracle.rules import (
    CURE_DAYS,
    DAY_ORDER,
    EVENT_DAYS,
    EXEMPT,
    GRACE_DAYS,
    NO_DATE_DAYS,
    days,
)

Fact = tuple[str, date]


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
    return [*state["closed"], *([state["open"]] if state["open"] else [])]
