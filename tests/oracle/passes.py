"""What a pass does under each of the three regimes, to the state of one assembly."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.oracle.rows import Row, close, new_row, season_row
from tests.oracle.rules import (
    EARLY_WINDOW_DAYS,
    ROLLING_OPENS_DAYS,
    credited_season,
    days,
    months_after,
    rolling_months,
)

State = dict[str, Any]


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
