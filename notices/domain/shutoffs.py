"""The life of a shutoff: signed, carried out, proved, water back; and on which days it may be."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta
from enum import StrEnum

from notices.domain.long_dates import long_date
from scheduling.domain.workdays import ONE_DAY, Holidays, is_workday


class ShutoffState(StrEnum):
    """Where a shutoff stands."""

    SIGNED = "signed"  # water is on; the crew has not been there
    OFF = "off"
    PROVED = "proved"  # what the rulebook asks for is there: water comes back
    BACK = "water back"
    CALLED_OFF = "called off"


LIVE_SHUTOFFS = frozenset({ShutoffState.SIGNED, ShutoffState.OFF, ShutoffState.PROVED})
"""A premises has at most one of these."""


class WorkOrderKind(StrEnum):
    """What the crew is sent to do."""

    OFF = "water off"
    ON = "water back"


class WorkOrderState(StrEnum):
    """What became of a work order."""

    WAITING = "waiting"
    DONE = "done"
    CALLED_OFF = "called off"


class Proof(StrEnum):
    """What brings the water back."""

    PASSED = "passed test"
    BOOKED = "booked test"
    HAZARD_GONE = "hazard is gone"  # of an emergency
    DECISION = "decision"  # of a person who may sign orders, with the reason


class AnswerKind(StrEnum):
    """Whose word is asked before water goes off."""

    FIRE = "fire department"
    MEDICAL = "medical supply"


class AnswerSays(StrEnum):
    """What the answer was."""

    MAY = "may go off"
    STAYS = "stays on"


class FeeState(StrEnum):
    """What became of a fee; no payment is taken here, only written down."""

    OWED = "owed"
    PAID = "paid"
    WAIVED = "waived"
    STRUCK = "entered in error"


def why_not_on(day: date, *, today: date, holidays: Holidays = ()) -> str:
    """Return why no water is shut off on a day, or nothing.

    Not on a closed day nor on the eve of one, so that somebody is there to bring it back the
    next day (common practice). Stricter than some codes. Example: a Friday is the eve of a
    Saturday, and Wednesday 2026-11-25 that of Thanksgiving.
    """
    if day < today:
        return f"{long_date(day)} is past. Name a day from today on."
    if not is_workday(day, holidays=holidays):
        return f"On {long_date(day)} the office is closed. Name a day of work."
    if not is_workday(day + ONE_DAY, holidays=holidays):
        return (
            f"{long_date(day)} is the eve of a closed day: nobody could bring the water back the "
            "next day. Name a day before a day of work. (This is stricter than some codes.)"
        )
    return ""


def why_wrong_day(done_on: date, *, named: date, holidays: Holidays = ()) -> str:
    """Return what was wrong with the day water went off, or nothing; what was done stays so.

    `named`: the day the crew was sent for. Before it the customer may have had time left; on a
    closed day or its eve nobody is there to bring water back the next day (common practice).
    Example: sent for Tuesday 2026-02-17 and done on the Monday before it, a holiday.
    """
    faults = []
    if done_on < named:
        faults.append(f"before {long_date(named)}, the day the crew was sent for")
    if not is_workday(done_on, holidays=holidays):
        faults.append("on a closed day")
    elif not is_workday(done_on + ONE_DAY, holidays=holidays):
        faults.append("on the eve of a closed day")
    return " and ".join(faults)


def first_day_for(today: date, *, holidays: Holidays = ()) -> date:
    """Return the first day from today on which water may be shut off.

    Example: asked on Friday 2026-12-04, Monday 2026-12-07.
    """
    day = today
    while why_not_on(day, today=today, holidays=holidays):
        day += timedelta(days=1)
    return day


def why_not_proof(
    proof: Proof,
    *,
    accepted: Collection[str],
    all_met: bool,
    is_emergency: bool,
    may_sign: bool,
    words: str,
) -> str:
    """Return why a proof does not bring the water back, or nothing.

    `accepted` is what the rulebook's rule of restoration names; nothing named: a passed test
    (Kansas City MO 78-299 takes a booked one too). `all_met`: nothing of the order is open.
    """
    if proof is Proof.PASSED:
        return "" if all_met else "A test of this order is still open: none has passed since."
    if proof is Proof.BOOKED and Proof.BOOKED.value not in accepted:
        return "The rulebook takes no booked test as enough. It asks for one that has passed."
    if proof is Proof.HAZARD_GONE and not is_emergency:
        return "Only of an emergency order can the hazard be gone. Name the test."
    if proof is Proof.DECISION and not may_sign:
        return "Only who may sign orders decides to bring water back without a test."
    return "" if words.strip() else "Say what is there: which test, by whom, for which day."
