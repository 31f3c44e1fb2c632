"""Whether letters may leave on a day: quiet days, and a hold on all of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from notices.domain.pacing import Span, first_open_day
from notices.models import LetterHold, QuietDays
from registry.models import Program
from scheduling.closed_days import closed_days
from scheduling.domain.workdays import days_after


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptIn:
    """Days on which the office meant no letter to leave, and why."""

    days: Span
    why: str
    is_hold: bool


MAILING = "mailing_after"
"""Under this key of a program's contacts: days of work from composing to mailing."""


def letter_hold(program: Program, *, on: date) -> LetterHold | None:
    """Return the hold that keeps all letters in on a day, or None. It ends by itself."""
    if program.letters_held_until is None or program.letters_held_until < on:
        return None
    return LetterHold.objects.filter(
        program=program, since_on__lte=on, until_on__gte=on, ended_on__isnull=True
    ).first()


def was_held(program: Program, *, on: date) -> bool:
    """Return whether a hold, over or not, kept all letters in on a day."""
    holds = LetterHold.objects.filter(program=program, since_on__lte=on, until_on__gte=on)
    return holds.exclude(ended_on__lte=on).exists()


def quiet_days(program: Program, *, on: date) -> QuietDays | None:
    """Return the quiet days that a day lies in, or None."""
    return QuietDays.objects.filter(program=program, from_on__lte=on, to_on__gte=on).first()


def why_kept_in(program: Program, *, on: date) -> str:
    """Say why no letter leaves on a day, or nothing."""
    hold = letter_hold(program, on=on)
    if hold is not None:
        return f"All letters are held up to and with {hold.until_on}: {hold.reason}"
    quiet = quiet_days(program, on=on)
    return f"{quiet.from_on} to {quiet.to_on} are quiet days: {quiet.why}" if quiet else ""


def days_kept_in(program: Program, *, first: date, last: date) -> tuple[KeptIn, ...]:
    """Return the quiet days and holds, over or not, that lie within days, the first first."""
    quiet = QuietDays.objects.filter(program=program, from_on__lte=last, to_on__gte=first)
    found = [
        KeptIn(days=Span(from_on, to_on), why=why, is_hold=False)
        for from_on, to_on, why in quiet.values_list("from_on", "to_on", "why")
    ]
    holds = LetterHold.objects.filter(program=program, since_on__lte=last, until_on__gte=first)
    for hold in holds:
        until = hold.until_on
        if hold.ended_on is not None:
            until = min(until, hold.ended_on - timedelta(days=1))
        if hold.since_on <= until >= first:
            days = Span(hold.since_on, until)
            found.append(KeptIn(days=days, why=hold.reason, is_hold=True))
    return tuple(sorted(found, key=lambda one: (one.days.first, one.days.last)))


def mailing_lag(program: Program) -> int:
    """Return how many days of work after composing the office mails its paper."""
    return int((program.contacts or {}).get(MAILING, 0))


def mailing_day(program: Program, *, on: date) -> date:
    """Return the day on which the office mails what is composed on a day; a trial at once."""
    lag = 0 if program.is_trial else mailing_lag(program)
    return days_after(on, lag, is_working=True, holidays=closed_days(program.state)) if lag else on


def leaving_day(program: Program, *, on: date) -> date:
    """Return the first day from this one on which letters leave: the day they are composed for.

    That is as many days of work on as the office needs to print and mail them, then the first
    that is not quiet or held.
    """
    on = mailing_day(program, on=on)
    spans = [
        Span(first, last)
        for first, last in QuietDays.objects.filter(program=program, to_on__gte=on).values_list(
            "from_on", "to_on"
        )
    ]
    hold = letter_hold(program, on=on)
    if hold is not None:
        spans.append(Span(hold.since_on, hold.until_on))
    return first_open_day(on, closed=spans) if spans else on
