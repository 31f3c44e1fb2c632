"""The steps of a ladder laid out for one obligation: each rung's day, or what it waits for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from scheduling.domain.obligations import Obligation
from scheduling.domain.pauses import after_pauses, counted_from
from scheduling.domain.rungs import Ladder, LeftRung, Rung, Trigger
from scheduling.domain.workdays import Holidays, days_after, in_days


@dataclass(frozen=True, slots=True)
class Place:
    """A step of the ladder laid out for one obligation; `on` None: its day is not known yet."""

    rung: Rung
    occurrence: str
    on: date | None
    order: int
    left_on: date | None
    why: str


@dataclass(frozen=True, slots=True)
class Case:
    """What a ladder is laid out for: an obligation, and the days the office is closed."""

    obligation: Obligation
    holidays: Holidays


def laid_out(*, ladder: Ladder, case: Case, left: Sequence[LeftRung]) -> list[Place]:
    """Return the steps that belong to this obligation, in the order of their days."""
    gone = {(item.rung, item.occurrence): item.left_on for item in left}
    places: list[Place] = []
    for order, rung in enumerate(ladder.rungs):
        for occurrence, on, why in _days_of(rung=rung, case=case):
            places.append(Place(rung, occurrence, on, order, gone.get((rung.key, occurrence)), why))
    present = {place.rung.key: place for place in places}
    places = [_held_back(place=place, present=present, case=case) for place in places]
    return sorted(places, key=lambda p: (p.on or date.max, p.order, p.occurrence))


Days = Sequence[tuple[str, date | None, str]]
"""Occurrence, day (None: not known), arithmetic."""


def _days_of(*, rung: Rung, case: Case) -> Days:
    """Return the days of a rung of an obligation; empty: it is no part of its ladder.

    A rung before the due date whose day lies before the opening is no part of it; any
    other waits for the opening, as after an idle time.
    """
    if rung.without_day:
        return [("", None, "its day is not transcribed")]
    opens, days = case.obligation.opens_on, unbounded(rung=rung, case=case)
    if rung.trigger is Trigger.DUE and rung.offset_days < 0:
        return [entry for entry in days if entry[1] >= opens] or _aimed_early(rung=rung, case=case)
    held = f", not before it opens {opens}"
    return [
        (occurrence, on, why) if on >= opens else (occurrence, opens, why + held)
        for occurrence, on, why in days
    ]


def unbounded(*, rung: Rung, case: Case) -> list[tuple[str, date, str]]:
    """Return the days of a rung as they count from its trigger, opening and pauses apart."""
    obligation = case.obligation
    if rung.trigger is Trigger.PROMPTED:
        return [
            _counted(day.isoformat(), word="asked for on", day=day, rung=rung, case=case)
            for day in obligation.prompts
        ]
    if rung.trigger is Trigger.OPENED:
        return [_counted("", word="opens", day=obligation.opens_on, rung=rung, case=case)]
    if rung.trigger is Trigger.DUE:
        return _days_from_due(rung=rung, case=case)
    failed = obligation.failed_on
    return [] if failed is None else [_counted("", word="failed", day=failed, rung=rung, case=case)]


def _days_from_due(*, rung: Rung, case: Case) -> list[tuple[str, date, str]]:
    """Count from the due date; once failed, from the day to cure by, and without courtesy.

    A notice in advance is about the due date: once failed it is no part of the ladder.
    """
    obligation = case.obligation
    has_failed = obligation.failed_on is not None
    is_courtesy = rung.is_skippable and (has_failed or obligation.courtesy_is_over)
    if is_courtesy or (has_failed and rung.offset_days < 0):
        return []
    if has_failed and obligation.cure_by is not None:
        # A ladder already begun goes on from the day to cure by itself, not the day after.
        begun = rung if rung.after is None else replace(rung, offset_days=0)
        word, day = "to be cured by", obligation.cure_by
        return [_counted("", word=word, day=day, rung=begun, case=case)]
    wanted = obligation.target_on
    if rung.is_skippable and wanted is not None and wanted < obligation.due_on:
        return [_counted("", word="aimed at", day=wanted, rung=rung, case=case)]
    return [_counted("", word="due", day=obligation.due_on, rung=rung, case=case)]


def _aimed_early(*, rung: Rung, case: Case) -> Days:
    """A courtesy rung that only a target moved before the opening goes when it opens.

    By the due date alone it belongs to the ladder, so levelling does not take it away.
    """
    if case.obligation.target_on is None:
        return []
    by_law = replace(case, obligation=replace(case.obligation, target_on=None))
    opens = case.obligation.opens_on
    if not any(on >= opens for _, on, _ in _days_from_due(rung=rung, case=by_law)):
        return []
    aimed = _days_from_due(rung=rung, case=case)
    return [("", opens, f"{why}, not before it opens {opens}") for _, _, why in aimed]


def _counted(
    occurrence: str, *, word: str, day: date, rung: Rung, case: Case
) -> tuple[str, date, str]:
    """Count a rung's days from its trigger: `due 2025-09-04 + 1 day = 2025-09-05`."""
    offset = rung.offset_days
    if offset == 0:
        return occurrence, day, f"{word} {day}"
    on = days_after(day, offset, is_working=rung.is_working, holidays=case.holidays)
    sign = "+" if offset > 0 else "-"
    said = f"{word} {day} {sign} {in_days(abs(offset), is_working=rung.is_working)} = {on}"
    return occurrence, on, said


def _held_back(*, place: Place, present: dict[str, Place], case: Case) -> Place:
    """Return the step with its gap kept: not before the rung it follows has left."""
    if place.on is None:
        return place
    earlier = present.get(place.rung.after) if place.rung.after is not None else None
    before = _repair_before(place, present=present, case=case)
    if before is None and earlier is not None and earlier.left_on is None:
        before = earlier.rung
    if before is not None:
        return replace(place, on=None, why=f"waits until {before.key} has left")
    if earlier is None or earlier.left_on is None:
        return _paused(place, case=case)
    free_on = _free_on(earlier.left_on, rung=place.rung, case=case)
    if free_on is None:
        return replace(place, on=None, why="waits until a stopped clock runs again")
    if free_on <= place.on:
        return _paused(place, case=case)
    gap = in_days(place.rung.gap_days, is_working=place.rung.is_working)
    presumed = (
        f", received {place.rung.presumed_days} days later as presumed"
        if place.rung.presumed_days
        else ""
    )
    why = f"{earlier.rung.key} left {earlier.left_on}{presumed} + {gap} = {free_on}"
    return _paused(replace(place, on=free_on, why=why), case=case)


def _repair_before(place: Place, *, present: dict[str, Place], case: Case) -> Rung | None:
    """Return the repair notice that goes first: once failed, before any overdue rung."""
    rung = place.rung
    is_overdue = rung.trigger is Trigger.DUE and rung.offset_days >= 0
    if case.obligation.failed_on is None or not is_overdue or place.left_on is not None:
        return None
    return next((each.rung for each in present.values() if _is_repair_to_come(each)), None)


def _is_repair_to_come(place: Place) -> bool:
    rung = place.rung
    is_repair = rung.trigger is Trigger.FAILED and not rung.is_skippable and not rung.without_day
    return is_repair and place.left_on is None


def _free_on(left_on: date, *, rung: Rung, case: Case) -> date | None:
    received = days_after(left_on, rung.presumed_days, is_working=False)
    return counted_from(
        received,
        rung.gap_days,
        is_working=rung.is_working,
        holidays=case.holidays,
        pauses=case.obligation.pauses,
    )


def _paused(place: Place, *, case: Case) -> Place:
    """Return the step moved behind a hold or a stopped clock that holds its day."""
    if place.on is None or not case.obligation.pauses:
        return place
    on = after_pauses(place.on, pauses=case.obligation.pauses)
    if on == place.on:
        return place
    why = "waits until a stopped clock runs again" if on is None else f"{place.why}; held to {on}"
    return replace(place, on=on, why=why)
