"""Which rung is owed for an obligation today, given the rungs that left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from scheduling.domain.obligations import Obligation
from scheduling.domain.pauses import after_pauses, counted_from
from scheduling.domain.reasons import Reason
from scheduling.domain.rungs import Ladder, LeftRung, Recipient, Rung, Trigger
from scheduling.domain.workdays import ONE_DAY, Holidays, days_after, in_days

__all__ = [
    "Ladder",
    "LeftRung",
    "Recipient",
    "Rung",
    "RungStep",
    "Trigger",
    "acts_on",
    "next_rung",
    "rung_owed",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class RungStep:
    """A rung and occurrence with its day, why, and the courtesy rungs passed over for it.

    `on` of an owed step is the first day it was owed, never after the day asked about.
    `latest_on`: the last day on which the law lets it leave; `warning` tells a person that
    this day is missed, or will be.
    """

    rung: Rung
    occurrence: str
    on: date
    reasons: tuple[Reason, ...] = ()
    skipped: tuple[str, ...] = ()
    latest_on: date | None = None
    warning: str = ""


@dataclass(frozen=True, slots=True)
class _Place:
    """A step of the ladder laid out for one obligation; `on` None: its day is not known yet."""

    rung: Rung
    occurrence: str
    on: date | None
    order: int
    left_on: date | None
    why: str


@dataclass(frozen=True, slots=True)
class _Case:
    """What a ladder is laid out for: an obligation, and the days the office is closed."""

    obligation: Obligation
    holidays: Holidays


def rung_owed(
    *,
    ladder: Ladder,
    obligation: Obligation,
    left: Iterable[LeftRung],
    today: date,
    holidays: Holidays = (),
) -> RungStep | None:
    """Return the rung owed for an obligation on a day, or None.

    Example: due 2025-09-04, nothing left, on 2025-09-05 the first overdue rung is owed
    and the courtesy rungs are passed over.
    """
    step = next_rung(
        ladder=ladder, obligation=obligation, left=left, today=today, holidays=holidays
    )
    return step if step is not None and obligation.is_open and step.on <= today else None


def next_rung(
    *,
    ladder: Ladder,
    obligation: Obligation,
    left: Iterable[LeftRung],
    today: date,
    holidays: Holidays = (),
) -> RungStep | None:
    """Return the rung owed on a day, else the next to come; None when nothing is left to come.

    A courtesy rung is passed over once a later rung is owed or has left. What may not be
    skipped goes in the order of its days, at most one rung of an obligation a day.
    """
    if obligation.closed_on is not None or obligation.is_suspended:
        return None
    gone, case = tuple(left), _Case(obligation, holidays)
    places = _laid_out(ladder=ladder, case=case, left=gone)
    skipped: list[str] = []
    for index, place in enumerate(places):
        if place.left_on is not None:
            skipped = []
        elif place.rung.is_skippable and _is_overtaken(later=places[index + 1 :], today=today):
            skipped.append(place.rung.key)
        elif place.on is not None:
            step = _step(place=place, on=place.on, left=gone, skipped=tuple(skipped))
            return _with_the_latest_day(step, case=case, today=today)
    return None


def acts_on(
    *,
    ladder: Ladder,
    obligation: Obligation,
    left: Iterable[LeftRung],
    as_of: date,
    holidays: Holidays = (),
) -> date | None:
    """Return the first day from `as_of` on which an obligation asks for something, or None.

    That is the opening of a coming one, or the next rung of an open one.
    """
    if obligation.is_suspended or obligation.closed_on is not None:
        return None
    if obligation.is_coming:
        return obligation.opens_on
    step = next_rung(
        ladder=ladder, obligation=obligation, left=left, today=as_of, holidays=holidays
    )
    return None if step is None else max(step.on, as_of)


def _is_overtaken(*, later: Sequence[_Place], today: date) -> bool:
    return any(
        place.left_on is not None or (place.on is not None and place.on <= today) for place in later
    )


def _step(
    *, place: _Place, on: date, left: Sequence[LeftRung], skipped: tuple[str, ...]
) -> RungStep:
    """Make the answer; a rung that left today moves the next to tomorrow at the earliest."""
    last_left = max((gone.left_on for gone in left), default=None)
    why = place.why
    if last_left is not None and last_left >= on:
        on = last_left + ONE_DAY
        why = f"{why}; one rung a day, the last left {last_left}, so {on}"
    reason = Reason(on, f"ladder {place.rung.key}", why, place.rung.citation)
    return RungStep(
        rung=place.rung, occurrence=place.occurrence, on=on, reasons=(reason,), skipped=skipped
    )


def _with_the_latest_day(step: RungStep, *, case: _Case, today: date) -> RungStep:
    """Say by when the law wants the rung to leave, and that it is late where it is."""
    rung = step.rung
    if rung.latest_left_days is None:
        return step
    latest = replace(rung, offset_days=rung.latest_left_days, latest_left_days=None)
    day = next((on for what, on, _ in _unbounded(rung=latest, case=case)
                if what == step.occurrence), None)  # fmt: skip
    leaves = max(step.on, today)
    warning = (
        ""
        if day is None or leaves <= day
        else f"{rung.key} had to leave by {day} and leaves {leaves} at the earliest: it goes at"
        " once, and a person looks at what follows from it."
    )
    return replace(step, latest_on=day, warning=warning)


def _laid_out(*, ladder: Ladder, case: _Case, left: Sequence[LeftRung]) -> list[_Place]:
    """Return the steps that belong to this obligation, in the order of their days."""
    gone = {(item.rung, item.occurrence): item.left_on for item in left}
    places: list[_Place] = []
    for order, rung in enumerate(ladder.rungs):
        for occurrence, on, why in _days_of(rung=rung, case=case):
            places.append(
                _Place(rung, occurrence, on, order, gone.get((rung.key, occurrence)), why)
            )
    present = {place.rung.key: place for place in places}
    places = [_held_back(place=place, present=present, case=case) for place in places]
    return sorted(places, key=lambda p: (p.on or date.max, p.order, p.occurrence))


Days = Sequence[tuple[str, date | None, str]]
"""Occurrence, day (None: not known), arithmetic."""


def _days_of(*, rung: Rung, case: _Case) -> Days:
    """Return the days of a rung of an obligation; empty: it is no part of its ladder.

    A rung before the due date whose day lies before the opening is no part of it; any
    other waits for the opening, as after an idle time.
    """
    if rung.without_day:
        return [("", None, "its day is not transcribed")]
    opens, days = case.obligation.opens_on, _unbounded(rung=rung, case=case)
    if rung.trigger is Trigger.DUE and rung.offset_days < 0:
        return [entry for entry in days if entry[1] >= opens]
    held = f", not before it opens {opens}"
    return [
        (occurrence, on, why) if on >= opens else (occurrence, opens, why + held)
        for occurrence, on, why in days
    ]


def _unbounded(*, rung: Rung, case: _Case) -> list[tuple[str, date, str]]:
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


def _days_from_due(*, rung: Rung, case: _Case) -> list[tuple[str, date, str]]:
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
    return [_counted("", word="due", day=obligation.due_on, rung=rung, case=case)]


def _counted(
    occurrence: str, *, word: str, day: date, rung: Rung, case: _Case
) -> tuple[str, date, str]:
    """Count a rung's days from its trigger: `due 2025-09-04 + 1 day = 2025-09-05`."""
    offset = rung.offset_days
    if offset == 0:
        return occurrence, day, f"{word} {day}"
    on = days_after(day, offset, is_working=rung.is_working, holidays=case.holidays)
    sign = "+" if offset > 0 else "-"
    said = f"{word} {day} {sign} {in_days(abs(offset), is_working=rung.is_working)} = {on}"
    return occurrence, on, said


def _held_back(*, place: _Place, present: dict[str, _Place], case: _Case) -> _Place:
    """Return the step with its gap kept: not before the rung it follows has left."""
    earlier = present.get(place.rung.after) if place.rung.after is not None else None
    if place.on is None:
        return place
    if earlier is None:
        return _paused(place, case=case)
    if earlier.left_on is None:
        return replace(place, on=None, why=f"waits until {earlier.rung.key} has left")
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


def _free_on(left_on: date, *, rung: Rung, case: _Case) -> date | None:
    received = days_after(left_on, rung.presumed_days, is_working=False)
    return counted_from(
        received,
        rung.gap_days,
        is_working=rung.is_working,
        holidays=case.holidays,
        pauses=case.obligation.pauses,
    )


def _paused(place: _Place, *, case: _Case) -> _Place:
    """Return the step moved behind a hold or a stopped clock that holds its day."""
    if place.on is None or not case.obligation.pauses:
        return place
    on = after_pauses(place.on, pauses=case.obligation.pauses)
    if on == place.on:
        return place
    why = "waits until a stopped clock runs again" if on is None else f"{place.why}; held to {on}"
    return replace(place, on=on, why=why)
