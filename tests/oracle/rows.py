"""One obligation as a plain dict: how it starts, closes, and is shown."""

from __future__ import annotations

from datetime import date
from typing import Any

Row = dict[str, Any]


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


def season_row(season: int) -> Row:
    row = new_row(date(season, 3, 1), date(season, 5, 31))
    row["season"] = season
    row["cycle_due"] = row["due_on"]
    return row


def close(state: dict[str, Any], row: Row, day: date, how: str) -> None:
    row["closed_on"], row["closed_how"] = day, how
    state["closed"].append(row)


def shown(row: Row) -> dict[str, Any]:
    names = ["opens_on", "due_on", "cure_by", "closed_on", "closed_how"]
    return {"kind": "test"} | {name: row[name] for name in names}
