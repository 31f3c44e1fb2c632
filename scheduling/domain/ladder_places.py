"""The steps of a ladder laid out for one obligation: each rung's day, or what it waits for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from scheduling.domain.cycles import first_after
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
    is_again: bool = False
    """Whether it is a rung that left before and comes again."""

    delivered_on: date | None = None


@dataclass(frozen=True, slots=True)
class Case:
    """What a ladder is laid out for: an obligation, and the days the office is closed."""

    obligation: Obligation
    holidays: Holidays
    repairs: frozenset[str] = frozenset()
    """The rungs that count from a failed test: what follows one begins a ladder."""


def repairs_of(ladder: Ladder) -> frozenset[str]:
    """Return the keys of the rungs that count from a failed test."""
    return frozenset(rung.key for rung in ladder.rungs if rung.trigger is Trigger.FAILED)


def laid_out(*, ladder: Ladder, case: Case, left: Sequence[LeftRung]) -> list[Place]:
    """Return the steps that belong to this obligation, in the order of their days."""
    gone = {(item.rung, item.occurrence): item for item in left}
    places: list[Place] = []
    late = 0
    for order, rung in enumerate(ladder.rungs):
        for occurrence, on, why in _days_of(rung=rung, case=case):
            place = Place(rung, occurrence, on, order, None, why)
            if (found := gone.get((rung.key, occurrence))) is not None:
                place = replace(place, left_on=found.left_on, delivered_on=found.delivered_on)
            places.append(_shifted(place, days=late, case=case))
        late = max(late, _days_late(rung, case=case, left=left))
    present = {place.rung.key: place for place in places}
    places += [again for place in places if (again := _again(place, case=case, left=left))]
    places = [_held_back(place=place, present=present, case=case) for place in places]
    return sorted(places, key=lambda p: (p.on or date.max, p.order, p.occurrence))


Days = Sequence[tuple[str, date | None, str]]
"""Occurrence, day (None: not known), arithmetic."""


def _days_late(rung: Rung, *, case: Case, left: Sequence[LeftRung]) -> int:
    """Return how many days too late a notice in advance left that the law wants by a day."""
    if rung.latest_left_days is None or rung.latest_left_days >= 0:
        return 0
    latest = latest_day(rung, occurrence="", case=case)
    days = [gone.left_on for gone in left if gone.rung == rung.key]
    return (min(days) - latest).days if latest is not None and days else 0


def _shifted(place: Place, *, days: int, case: Case) -> Place:
    """Return what follows the due date as many days later as a notice in advance was late.

    A notice that has a latest day of its own keeps its day.
    """
    rung = place.rung
    is_after = rung.trigger is Trigger.DUE and rung.offset_days >= 0
    if days <= 0 or not is_after or place.on is None or rung.latest_left_days is not None:
        return place
    if case.obligation.failed_on is not None:
        return place
    on = place.on + timedelta(days=days)
    told = in_days(days, is_working=False)
    why = f"{place.why}; a notice in advance left {told} late, so {on}"
    return replace(place, on=on, why=why)


def latest_day(rung: Rung, *, occurrence: str, case: Case) -> date | None:
    """Return the last day on which the law lets a rung leave; None where it names none."""
    if rung.latest_left_days is None:
        return None
    latest = replace(rung, offset_days=rung.latest_left_days, latest_left_days=None)
    found = unbounded(rung=latest, case=case)
    return next((on for what, on, _ in found if what == occurrence), None)


def _again(place: Place, *, case: Case, left: Sequence[LeftRung]) -> Place | None:
    """Return the next time of a rung that repeats, counted from the day it last left."""
    cycle = place.rung.repeat
    times = [gone for gone in left if gone.rung == place.rung.key]
    if cycle is None or place.left_on is None:
        return None
    number = len(times) + 1
    if cycle.count is not None and number > cycle.count:
        return None
    last = max(gone.left_on for gone in times)
    on = first_after(replace(cycle, count=None), last, last)
    if on is None:
        return None
    why = f"left {last}, again after {cycle.words} = {on}"
    return replace(place, occurrence=str(number), on=on, left_on=None, why=why, is_again=True)


def _days_of(*, rung: Rung, case: Case) -> Days:
    """Return the days of a rung of an obligation; empty: it is no part of its ladder.

    A rung before the due date whose day lies before the opening is no part of it; any
    other waits for the opening, as after an idle time.
    """
    if rung.without_day:
        return [("", None, "its day is not transcribed")]
    opens, days = case.obligation.opens_on, unbounded(rung=rung, case=case)
    is_ahead = rung.trigger is Trigger.DUE and rung.offset_days < 0
    if is_ahead and not _is_wanted_all_the_same(rung, case=case):
        return [entry for entry in days if entry[1] >= opens] or _aimed_early(rung=rung, case=case)
    held = f", not before it opens {opens}"
    return [
        (occurrence, on, why) if on >= opens else (occurrence, opens, why + held)
        for occurrence, on, why in days
    ]


def _is_wanted_all_the_same(rung: Rung, *, case: Case) -> bool:
    """Whether a notice in advance goes though its day lies before the opening.

    The law wants it by a day, and no event set the date: it goes when it opens, too late.
    """
    return rung.latest_left_days is not None and not case.obligation.prompts


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
        is_begun = rung.after is not None and rung.after not in case.repairs
        begun = replace(rung, offset_days=0) if is_begun else rung
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
    by_law = replace(case, obligation=case.obligation._replace(target_on=None))
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
    if place.on is None or place.is_again:
        return _paused(place, case=case)
    earlier = present.get(place.rung.after) if place.rung.after is not None else None
    before = _repair_before(place, present=present, case=case)
    if before is None and earlier is not None and earlier.left_on is None:
        before = earlier.rung
    if before is not None:
        return replace(place, on=None, why=f"waits until {before.key} has left")
    if earlier is None or earlier.left_on is None:
        return _paused(place, case=case)
    return _paused(_after_gap(place, on=place.on, earlier=earlier, case=case), case=case)


def _after_gap(place: Place, *, on: date, earlier: Place, case: Case) -> Place:
    """Return the step not before its gap since the rung it follows has passed."""
    received, told = _received(earlier, rung=place.rung)
    if received is None:
        return replace(place, on=None, why=f"waits until the delivery of {told} is recorded")
    free_on = _free_on(received, rung=place.rung, case=case)
    if free_on is None:
        return replace(place, on=None, why="waits until a stopped clock runs again")
    if free_on <= on:
        return place
    gap = in_days(place.rung.gap_days, is_working=place.rung.is_working)
    return replace(place, on=free_on, why=f"{told} + {gap} = {free_on}")


def _received(earlier: Place, *, rung: Rung) -> tuple[date | None, str]:
    """Return the day from which a gap counts, and how to say it; None: not known yet."""
    assert earlier.left_on is not None
    name = earlier.rung.key
    if rung.from_delivery and earlier.delivered_on is not None:
        return earlier.delivered_on, f"{name} was delivered {earlier.delivered_on}"
    if rung.from_delivery and not rung.presumed_days:
        return None, name
    told = f"{name} left {earlier.left_on}"
    if rung.presumed_days:
        told += f", received {rung.presumed_days} days later as presumed"
    return days_after(earlier.left_on, rung.presumed_days, is_working=False), told


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
    return is_repair and not rung.is_order and place.left_on is None


def _free_on(received: date, *, rung: Rung, case: Case) -> date | None:
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
