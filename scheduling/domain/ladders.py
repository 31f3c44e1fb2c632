"""Which rung is owed for an obligation today, given the rungs that left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from scheduling.domain.obligations import Obligation
from scheduling.domain.reasons import Reason

ONE_DAY = timedelta(days=1)


class Trigger(StrEnum):
    """What a rung's day counts from."""

    PROMPTED = "prompted"  # an event that opened the obligation or moved its due date earlier
    OPENED = "opened"
    DUE = "due"  # the due date, or the day to cure by once a test failed
    FAILED = "failed"  # the first uncured failure


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One step of a ladder.

    `offset_days` counts calendar days from the trigger. `after` names the rung that
    must have left first, `gap_days` the least number of days since it left (the leaving
    day not counted: left 1 March, gap 14, earliest 15 March). Only a courtesy rung
    `is_skippable`. `needs_release`: a person releases it.
    """

    key: str
    trigger: Trigger
    citation: str
    offset_days: int = 0
    after: str | None = None
    gap_days: int = 0
    is_skippable: bool = False
    needs_release: bool = False
    is_order: bool = False
    channel: str = "mail"


@dataclass(frozen=True, slots=True)
class Ladder:
    """The ordered rungs for obligations of one rulebook."""

    rungs: tuple[Rung, ...]

    def rung(self, key: str) -> Rung:
        """Return the rung with this key; KeyError when the ladder has none."""
        for rung in self.rungs:
            if rung.key == key:
                return rung
        raise KeyError(key)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftRung:
    """A rung of one obligation that left: `occurrence` is a prompt's ISO date, else empty."""

    rung: str
    left_on: date
    occurrence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RungStep:
    """A rung and occurrence with its day, why, and the courtesy rungs passed over for it.

    `on` of an owed step is the first day it was owed, never after the day asked about.
    """

    rung: Rung
    occurrence: str
    on: date
    reasons: tuple[Reason, ...] = ()
    skipped: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Place:
    """A step of the ladder laid out for one obligation; `on` None: its day is not known yet."""

    rung: Rung
    occurrence: str
    on: date | None
    order: int
    left_on: date | None
    why: str


def rung_owed(
    *, ladder: Ladder, obligation: Obligation, left: Iterable[LeftRung], today: date
) -> RungStep | None:
    """Return the rung owed for an obligation on a day, or None.

    Example: due 2025-09-04, nothing left, on 2025-09-05 the first overdue rung is owed
    and the courtesy rungs are passed over.
    """
    step = next_rung(ladder=ladder, obligation=obligation, left=left, today=today)
    return step if step is not None and obligation.is_open and step.on <= today else None


def next_rung(
    *, ladder: Ladder, obligation: Obligation, left: Iterable[LeftRung], today: date
) -> RungStep | None:
    """Return the rung owed on a day, else the next to come; None when nothing is left to come.

    A courtesy rung is passed over once a later rung is owed or has left. What may not be
    skipped goes in the order of its days, at most one rung of an obligation a day.
    """
    if obligation.closed_on is not None or obligation.is_suspended:
        return None
    gone = tuple(left)
    places = _laid_out(ladder=ladder, obligation=obligation, left=gone)
    skipped: list[str] = []
    for index, place in enumerate(places):
        if place.left_on is not None:
            skipped = []
        elif place.rung.is_skippable and _is_overtaken(later=places[index + 1 :], today=today):
            skipped.append(place.rung.key)
        elif place.on is not None:
            return _step(place=place, on=place.on, left=gone, skipped=tuple(skipped))
    return None


def acts_on(
    *, ladder: Ladder, obligation: Obligation, left: Iterable[LeftRung], as_of: date
) -> date | None:
    """Return the first day from `as_of` on which an obligation asks for something, or None.

    That is the opening of a coming one, or the next rung of an open one.
    """
    if obligation.is_suspended or obligation.closed_on is not None:
        return None
    if obligation.is_coming:
        return obligation.opens_on
    step = next_rung(ladder=ladder, obligation=obligation, left=left, today=as_of)
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


def _laid_out(*, ladder: Ladder, obligation: Obligation, left: Sequence[LeftRung]) -> list[_Place]:
    """Return the steps that belong to this obligation, in the order of their days."""
    gone = {(item.rung, item.occurrence): item.left_on for item in left}
    places: list[_Place] = []
    for order, rung in enumerate(ladder.rungs):
        for occurrence, on, why in _days_of(rung=rung, obligation=obligation):
            places.append(
                _Place(rung, occurrence, on, order, gone.get((rung.key, occurrence)), why)
            )
    present = {place.rung.key: place for place in places}
    places = [_held_back(place=place, present=present, obligation=obligation) for place in places]
    return sorted(places, key=lambda p: (p.on or date.max, p.order, p.occurrence))


Days = list[tuple[str, date, str]]
"""Occurrence, day and arithmetic."""


def _days_of(*, rung: Rung, obligation: Obligation) -> Days:
    """Return the days of a rung of an obligation; empty: it is no part of its ladder.

    A rung before the due date whose day lies before the opening is no part of it; any
    other waits for the opening, as after an idle time.
    """
    opens, days = obligation.opens_on, _unbounded(rung=rung, obligation=obligation)
    if rung.trigger is Trigger.DUE and rung.offset_days < 0:
        return [entry for entry in days if entry[1] >= opens]
    return [
        (occurrence, on, why)
        if on >= opens
        else (occurrence, opens, f"{why}, not before it opens {opens}")
        for occurrence, on, why in days
    ]


def _unbounded(*, rung: Rung, obligation: Obligation) -> Days:
    offset = timedelta(days=rung.offset_days)
    if rung.trigger is Trigger.PROMPTED:
        return [
            (day.isoformat(), day + offset, _sum("asked for on", day, offset.days))
            for day in obligation.prompts
        ]
    if rung.trigger is Trigger.OPENED:
        opens = obligation.opens_on
        return [("", opens + offset, _sum("opens", opens, offset.days))]
    if rung.trigger is Trigger.DUE:
        return _days_from_due(rung=rung, obligation=obligation)
    failed = obligation.failed_on
    return [] if failed is None else [("", failed + offset, _sum("failed", failed, offset.days))]


def _days_from_due(*, rung: Rung, obligation: Obligation) -> Days:
    """Count from the due date; once failed, from the day to cure by, and without courtesy."""
    has_failed = obligation.failed_on is not None
    if rung.is_skippable and (has_failed or obligation.courtesy_is_over):
        return []
    if has_failed and obligation.cure_by is not None:
        # A ladder already begun goes on from the day to cure by itself, not the day after.
        days = rung.offset_days if rung.after is None else 0
        on = obligation.cure_by + timedelta(days=days)
        return [("", on, _sum("to be cured by", obligation.cure_by, days))]
    on = obligation.due_on + timedelta(days=rung.offset_days)
    return [("", on, _sum("due", obligation.due_on, rung.offset_days))]


def _held_back(*, place: _Place, present: dict[str, _Place], obligation: Obligation) -> _Place:
    """Return the step with its gap kept: not before the rung it follows has left."""
    earlier = present.get(place.rung.after) if place.rung.after is not None else None
    if earlier is None or place.on is None:
        return place
    if earlier.left_on is None:
        return _Place(
            place.rung,
            place.occurrence,
            None,
            place.order,
            place.left_on,
            f"waits until {earlier.rung.key} has left",
        )
    free_on = earlier.left_on + timedelta(days=place.rung.gap_days)
    if free_on <= place.on:
        return place
    why = f"{earlier.rung.key} left {earlier.left_on} + {place.rung.gap_days} days = {free_on}"
    return _Place(place.rung, place.occurrence, free_on, place.order, place.left_on, why)


def _sum(word: str, day: date, days: int) -> str:
    """Return a sum of days in words: `due 2025-09-04 + 1 day = 2025-09-05`."""
    if days == 0:
        return f"{word} {day}"
    sign = "+" if days > 0 else "-"
    unit = "day" if abs(days) == 1 else "days"
    return f"{word} {day} {sign} {abs(days)} {unit} = {day + timedelta(days=days)}"
