"""Which rung of the teaching ladder a row owes on a day, given what left and when.

The ladder in words: `test-owed` the day an event opens the obligation or moves its due date
earlier; `reminder` and `second-reminder` 45 and 15 days before due, courtesy; `repair` the day a
test fails; `first-overdue` the day after due (after `cure_by` once failed); then at least 14, 15
and 10 days after the one before really left.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.oracle.rules import (
    FINAL_GAP,
    ORDER_GAP,
    REMINDER_DAYS,
    SECOND_OVERDUE_GAP,
    SECOND_REMINDER_DAYS,
    days,
)

Row = dict[str, Any]
Left = list[tuple[str, date]]

COURTESY = {"reminder", "second-reminder"}
LADDER = [
    "test-owed",
    "reminder",
    "second-reminder",
    "repair",
    "first-overdue",
    "second-overdue",
    "final",
    "shutoff-order",
]


def next_rung(*, row: Row, left: Left, today: date) -> dict[str, Any] | None:
    """The rung owed today (its day then is today), else the next to come with its day."""
    for wait in range(800):
        day = today + days(wait)
        owed = owed_rung(row=row, left=left, today=day)
        if owed:
            return {"rung": owed, "on": day}
    return None


def owed_rung(*, row: Row, left: Left, today: date) -> str | None:
    """The one rung that may leave today: a courtesy one gives way to any that follows it."""
    if any(day == today for _, day in left):
        return None  # at most one per obligation per day
    owed = [(day, LADDER.index(rung), rung) for rung, day in rungs_not_left(row, left)]
    owed = sorted(each for each in owed if each[0] <= today)
    for place, (_, _, rung) in enumerate(owed):
        if rung not in COURTESY or place == len(owed) - 1:
            return rung
    return None


def rungs_not_left(row: Row, left: Left) -> list[tuple[str, date]]:
    """Every rung of this row still to leave whose day is known, with that day."""
    gone = [rung for rung, _ in left]
    asked = [max(day, row["opens_on"]) for day in row["asked_on"]]
    told, untold = asked[: gone.count("test-owed")], asked[gone.count("test-owed") :]
    found = [("test-owed", day) for day in untold]
    # A courtesy rung passed over for a notice of later day does not come back once that left.
    found += [each for each in courtesy_rungs(row, gone) if all(day <= each[1] for day in told)]
    if row["failed_on"] and "repair" not in gone:
        found.append(("repair", max(row["failed_on"], row["opens_on"])))
    return found + overdue_rung(row, left)


def courtesy_rungs(row: Row, gone: list[str]) -> list[tuple[str, date]]:
    if row["failed_on"] or any(rung in gone for rung in LADDER[4:]) or "second-reminder" in gone:
        return []
    found = []
    for rung, before in (("reminder", REMINDER_DAYS), ("second-reminder", SECOND_REMINDER_DAYS)):
        day = row["due_on"] - days(before)
        if rung not in gone and day >= row["opens_on"]:
            found.append((rung, day))
    return found


def overdue_rung(row: Row, left: Left) -> list[tuple[str, date]]:
    """The next of the four overdue rungs; the later ones count from when the one before left."""
    base = row["cure_by"] or row["due_on"]
    when = dict(left)
    if "first-overdue" not in when:
        # Failed while idle: the cure date may lie before it opened, and repair still goes first.
        return [("first-overdue", max(base + days(1), row["opens_on"]))]
    floor = row["cure_by"] or row["due_on"] + days(1)
    steps = [
        ("first-overdue", "second-overdue", SECOND_OVERDUE_GAP),
        ("second-overdue", "final", FINAL_GAP),
        ("final", "shutoff-order", ORDER_GAP),
    ]
    for before, rung, gap in steps:
        if rung not in when:
            return [(rung, max(when[before] + days(gap), floor))]
    return []
