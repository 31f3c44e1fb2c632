"""What is to be said about a visit: what was told last beside what holds now, and how in time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from reports.domain.appointment_letters import AppointmentLetter

CALL_WITHIN = timedelta(hours=48)
"""A change nearer than that is also told by telephone: whoever reads no mail must hear of it."""

POST_TAKES = timedelta(days=5)
"""First-class mail is counted on to be there after so long: common practice."""


class ToldBy(StrEnum):
    """How a customer is told: by e-mail, by post, or by telephone alone."""

    EMAIL = "e-mail"
    POST = "first-class mail"
    CALL = "telephone"


@dataclass(frozen=True, slots=True)
class Standing:
    """When a visit is and who comes; None as a whole where it is promised no more."""

    starts_at: datetime
    ends_at: datetime
    tester: str


@dataclass(frozen=True, slots=True)
class ToSay:
    """What is to be said, by what way, and whether somebody must also call."""

    kind: AppointmentLetter
    by: ToldBy
    must_call: bool


def to_say(
    *, now: datetime, holds: Standing | None, told: Standing | None, has_email: bool
) -> ToSay | None:
    """What is to be said about a visit, or None where the customer knows how it stands.

    Told 1 December 10:20, now 2 December 9:00 since yesterday's plan: changed, and within 48 hours
    also by telephone. A visit that is over needs no word.
    """
    if holds == told or (holds is None and told is None):
        return None
    kind = _kind(holds, told)
    nearest = min(one.starts_at for one in (holds, told) if one is not None)
    if nearest <= now and (holds is None or holds.starts_at <= now):
        return None
    by = _way(nearest - now, has_email=has_email)
    is_change = kind is not AppointmentLetter.MADE
    must_call = by is ToldBy.CALL or (is_change and nearest - now < CALL_WITHIN)
    return ToSay(kind, by, must_call)


def _kind(holds: Standing | None, told: Standing | None) -> AppointmentLetter:
    if told is None:
        return AppointmentLetter.MADE
    return AppointmentLetter.OFF if holds is None else AppointmentLetter.CHANGED


def _way(ahead: timedelta, *, has_email: bool) -> ToldBy:
    if has_email:
        return ToldBy.EMAIL
    return ToldBy.POST if ahead >= POST_TAKES else ToldBy.CALL
