"""Which rung of any ladder leaves on which day, for a row of the oracle and days of runs."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any

from tests.oracle.every.asking import Book, Rule, Thing, catches, count_on, works
from tests.oracle.rules import days

Row = dict[str, Any]
Quiet = list[tuple[date, date | None]]
Left = list[tuple[str, date]]
Told = list[tuple[str, date, bool]]


def rungs_of(book: Book, kind: str, thing: Thing) -> list[Rule]:
    """A kind that any rung names has a ladder of its own; of it, the rungs that catch a thing."""
    own = [rung for rung in book["rungs"] if kind in rung["kinds"]]
    mine = own or [rung for rung in book["rungs"] if not rung["kinds"]]
    return [rung for rung in mine if catches(rung, thing)]


def leavings(
    *,
    row: Row,
    rungs: list[Rule],
    quiet: Quiet,
    holidays: Collection[date],
    runs: Iterable[date],
    before: Iterable[tuple[str, date]] = (),
) -> Told:
    """What leaves over the runs, and whether too late: one rung a run at most, none when quiet."""
    left, found = list(before), []
    for today in runs:
        if any(first <= today and (last is None or today <= last) for first, last in quiet):
            continue
        key = owed(row, rungs, left, today, quiet, holidays)
        if key:
            rung = next(each for each in rungs if each["key"] == key)
            is_again = any(gone == key for gone, _ in left)  # the law's day is that of the first
            is_late = not is_again and is_too_late(row, rung, today, holidays)
            left.append((key, today))
            found.append((key, today, is_late))
    return found


def is_too_late(row: Row, rung: Rule, today: date, holidays: Collection[date]) -> bool:
    """The law wants it to have left by so many days from its trigger."""
    if "latest" not in rung:
        return False
    base = (row["failed_on"] and row["cure_by"]) or row["due_on"]
    return today > count_on(base, rung | {"days": rung["latest"]}, holidays)


def owed(
    row: Row, rungs: list[Rule], left: Left, today: date, quiet: Quiet, holidays: Collection[date]
) -> str | None:
    """The one rung that may leave today: a courtesy one gives way to any that follows it."""
    found = []
    for place, rung in enumerate(rungs):
        pending = days_of(row, rungs, rung, left, quiet, holidays)
        comes_again = any(key == rung["key"] for key, _ in left) and "again" in rung
        if comes_again and gives_way(row, rungs, rung, left, today, quiet, holidays):
            continue
        found += [(day, place, rung) for day in pending if day <= today]
    found.sort(key=lambda each: each[:2])
    for n, (_, _, rung) in enumerate(found):
        if not rung.get("skippable") or n == len(found) - 1:
            return str(rung["key"])
    return None


def days_of(
    row: Row,
    rungs: list[Rule],
    rung: Rule,
    left: Left,
    quiet: Quiet,
    holidays: Collection[date],
) -> list[date]:
    """The day of a rung still to leave; one for each event that is still to be told."""
    gone = dict(left)
    if rung.get("without_day"):
        return []
    if rung["trigger"] == "prompted":
        told = [key for key, _ in left].count(rung["key"])
        return [out_of(max(day, row["opens_on"]), quiet) for day in row["prompts"][told:]]
    if rung["key"] in gone:
        return again(row, rungs, rung, left, quiet, holidays)
    day = day_from_trigger(row, rung, holidays)
    if day is None or is_over(row, rungs, rung, left):
        return []
    if rung.get("skippable") and was_passed_over(row, rungs, day, left, holidays):
        return []
    return [
        out_of(day, quiet) for day in after_others(row, rungs, rung, day, left, quiet, holidays)
    ]


def after_others(
    row: Row, rungs: list[Rule], rung: Rule, day: date, left: Left, quiet: Quiet,
    holidays: Collection[date],
) -> list[date]:  # fmt: skip
    """The day once the rung before has left, and people have the days a late notice took."""
    day += days(late(row, rungs, rung, left, holidays))
    if not rung.get("after"):
        return [day]
    first = next((on for key, on in left if key == rung["after"]), None)
    if first is None:
        return []
    before = next(other for other in rungs if other["key"] == rung["after"])
    if row["failed_on"] and row["cure_by"] and before["trigger"] != "failed":
        day = row["cure_by"]  # a ladder that goes on: no rung of it before that day
    return [max(day, after_gap(first, rung, quiet, holidays))]


def again(
    row: Row, rungs: list[Rule], rung: Rule, left: Left, quiet: Quiet, holidays: Collection[date]
) -> list[date]:
    """A rung that repeats counts from when it last left, and gives way to all after it."""
    times = [on for key, on in left if key == rung["key"]]
    if "again" not in rung or len(times) >= rung.get("times", 1000):
        return []
    return [out_of(times[-1] + days(rung["again"]), quiet)]


def gives_way(
    row: Row, rungs: list[Rule], rung: Rule, left: Left, today: date, quiet: Quiet,
    holidays: Collection[date],
) -> bool:  # fmt: skip
    """Whether one further on the ladder has left, or is owed."""
    after = rungs[rungs.index(rung) + 1 :]
    keys = {key for key, _ in left}
    return any(
        other["key"] in keys
        or any(day <= today for day in days_of(row, rungs, other, left, quiet, holidays))
        for other in after
    )


def late(row: Row, rungs: list[Rule], rung: Rule, left: Left, holidays: Collection[date]) -> int:
    """Days by which a notice in advance before this rung was late: people get them back."""
    if rung["trigger"] != "due" or rung["days"] < 0 or "latest" in rung or row["failed_on"]:
        return 0
    found = [0]
    for other in rungs[: rungs.index(rung)]:
        on = next((on for key, on in left if key == other["key"]), None)
        if on and other.get("latest", 0) < 0:
            limit = count_on(row["due_on"], other | {"days": other["latest"]}, holidays)
            found.append((on - limit).days)
    return max(found)


def is_over(row: Row, rungs: list[Rule], rung: Rule, left: Left) -> bool:
    """Courtesy ends with a failure, an overdue extension, or any later rung that left."""
    if rung["trigger"] == "due" and rung["days"] >= 0:
        keys = [key for key, _ in left]
        return bool(row["failed_on"]) and any(
            other["trigger"] == "failed"
            and other["key"] not in keys
            and not other.get("without_day")
            for other in rungs
        )  # the repair notice goes before any overdue rung
    if rung["trigger"] == "due" and row["failed_on"]:
        return True
    if not rung.get("skippable"):
        return False
    later = {other["key"] for other in rungs[rungs.index(rung) + 1 :]}
    return row["courtesy_over"] or any(key in later for key, _ in left)


def was_passed_over(
    row: Row, rungs: list[Rule], day: date, left: Left, holidays: Collection[date]
) -> bool:
    """A courtesy that gave way to an event's or an opening notice of a later day stays away."""
    keys = [key for key, _ in left]
    for rung in rungs:
        if rung["trigger"] == "prompted":
            told = row["prompts"][: keys.count(rung["key"])]
            if any(max(each, row["opens_on"]) > day for each in told):
                return True
        elif rung["trigger"] == "opened" and rung["key"] in keys:
            opened = day_from_trigger(row, rung, holidays)
            if opened and opened > day:
                return True
    return False


def day_from_trigger(row: Row, rung: Rule, holidays: Collection[date]) -> date | None:
    base = {
        "opened": row["opens_on"],
        "failed": row["failed_on"],
        "due": (row["failed_on"] and row["cure_by"]) or row["due_on"],
    }[rung["trigger"]]
    if base is None:
        return None
    day = count_on(base, rung, holidays)
    is_ahead = rung["trigger"] == "due" and rung["days"] < 0
    if day < row["opens_on"] and is_ahead and ("latest" not in rung or row["prompts"]):
        return None  # before it opened: no part of its ladder
    opens_on: date = row["opens_on"]
    return max(day, opens_on)


def out_of(day: date, quiet: Quiet) -> date:
    """The day, or the first after the quiet times that hold it."""
    for first, last in sorted(quiet, key=lambda each: each[0]):
        if first <= day and last is None:
            return date.max
        if last and first <= day <= last:
            day = last + days(1)
    return day


def after_gap(left_on: date, rung: Rule, quiet: Quiet, holidays: Collection[date]) -> date:
    """The gap after the rung before left (or was received), quiet days not counted."""
    day = count_free(left_on, rung.get("presumed", 0), False, quiet, holidays)
    return count_free(day, rung["gap"], rung["working"], quiet, holidays)


def count_free(
    day: date, number: int, is_working: bool, quiet: Quiet, holidays: Collection[date]
) -> date:
    while number:
        day += days(1)
        if any(first <= day and last is None for first, last in quiet):
            return date.max
        is_quiet = any(first <= day <= last for first, last in quiet if last)
        if not is_quiet and (works(day, holidays) or not is_working):
            number -= 1
    return day
