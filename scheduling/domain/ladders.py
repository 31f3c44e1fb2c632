"""Which rung is owed for an obligation today, given the rungs that left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from scheduling.domain.ladder_places import Case, Place, laid_out, latest_day, repairs_of
from scheduling.domain.obligations import Obligation
from scheduling.domain.pauses import after_pauses
from scheduling.domain.reasons import Reason
from scheduling.domain.rungs import Ladder, LeftRung, Recipient, Rung, Trigger
from scheduling.domain.workdays import ONE_DAY, Holidays

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
    gone, case = tuple(left), Case(obligation, holidays, repairs_of(ladder))
    places = laid_out(ladder=ladder, case=case, left=gone)
    skipped: list[str] = []
    for index, place in enumerate(places):
        if place.left_on is not None:
            skipped = []
        elif place.is_again and _is_over(place, others=places, today=today):
            continue
        elif place.rung.is_skippable and _is_overtaken(later=places[index + 1 :], today=today):
            skipped.append(place.rung.key)
        elif place.on is not None:
            step = _step(place=place, on=place.on, left=gone, skipped=tuple(skipped))
            free = _out_of_pauses(step, case=case, today=today)
            return None if free is None else _with_the_latest_day(free, case=case, today=today)
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


def _is_overtaken(*, later: Sequence[Place], today: date) -> bool:
    return any(
        place.left_on is not None or (place.on is not None and place.on <= today) for place in later
    )


def _is_over(again: Place, *, others: Sequence[Place], today: date) -> bool:
    """Whether a rung that comes again is over: one further on the ladder is owed or has left."""
    return _is_overtaken(later=[each for each in others if each.order > again.order], today=today)


def _step(
    *, place: Place, on: date, left: Sequence[LeftRung], skipped: tuple[str, ...]
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


def _out_of_pauses(step: RungStep, *, case: Case, today: date) -> RungStep | None:
    """Return the step not before a hold has ended that holds its day, or today; None: no end."""
    day = max(step.on, today)
    free = after_pauses(day, pauses=case.obligation.pauses)
    if free is None:
        return None
    return step if free == day else replace(step, on=free)


def _with_the_latest_day(step: RungStep, *, case: Case, today: date) -> RungStep:
    """Say by when the law wants the rung to leave, and that it is late where it is."""
    rung = step.rung
    day = latest_day(rung, occurrence=step.occurrence, case=case)
    if day is None:
        return step
    leaves = max(step.on, today)
    warning = (
        ""
        if leaves <= day
        else f"{rung.key} had to leave by {day} and leaves {leaves} at the earliest: it goes at"
        " once, and a person looks at what follows from it."
    )
    return replace(step, latest_on=day, warning=warning)
