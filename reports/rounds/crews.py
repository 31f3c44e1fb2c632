"""Who can drive: approved testers, on each day that their certificate holds and they work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta

from django.db.models import Q

from registry.models import Approval, Certification, Firm, Program, Tester
from scheduling.closed_days import closed_days
from scheduling.domain.rounds.visits import Spot

Span = tuple[time, time]

USUAL_HOURS: Span = (time(8), time(16, 30))
USUAL_WEEKDAYS = range(5)
"""Without hours on record: Monday to Friday, 08:00 to 16:30."""


LUNCH_BETWEEN: Span = (time(11), time(13, 30))
"""Where minutes of lunch are on record and no window is."""

LONGEST_WITHOUT_LUNCH = 6 * 60
"""Minutes: a shorter day needs no lunch in it (common practice; many states' labor laws ask for a
meal break after five or six hours: local law decides)."""


@dataclass(frozen=True)
class Meal:
    """A lunch of ``minutes`` that lies inside a window of the clock."""

    minutes: int
    begins: time
    over: time


@dataclass(frozen=True)
class CrewDay:
    """A tester at work on a date: from ``starts`` to ``ends`` with at most one ``pause``.

    A ``pause`` stands between two recorded spans of work; a ``lunch`` may be anywhere in its
    window.
    """

    tester: Tester
    on: date
    starts: time
    ends: time
    pause: Span | None
    lunch: Meal | None = None


def crew_days(*, program: Program, first_day: date, days: int, holidays_off: bool) -> list[CrewDay]:
    """Every working day of every tester that the program accepts on that day.

    With ``holidays_off`` nobody works on public holidays of the program's state, days observed
    included; a program without a state has none.
    """
    acceptance = acceptance_of(program)
    closed = closed_days(program.state) if holidays_off else frozenset[date]()
    ahead = (first_day + timedelta(days=number) for number in range(days))
    dates = [on for on in ahead if on not in closed]
    return [
        day
        for tester in acceptance.testers
        for on in dates
        if acceptance.holds(tester, on) and (day := _working_day(tester, on)) is not None
    ]


def depot_of(tester: Tester) -> Spot | None:
    """Where the tester starts; None when nobody recorded it."""
    if tester.depot_lat is None or tester.depot_lon is None:
        return None
    return Spot(lat=float(tester.depot_lat), lon=float(tester.depot_lon))


def hours_on(hours: dict[str, list[list[str]]], weekday: int) -> list[Span]:
    """The spans recorded for a weekday (0 is Monday), in order; empty when none."""
    spans = hours.get(str(weekday), [])
    return sorted((_time(start), _time(end)) for start, end in spans)


def _time(text: str) -> time:
    """A time of day; 24:00 is the last minute before midnight."""
    return time(23, 59) if text == "24:00" else time.fromisoformat(text)


def _working_day(tester: Tester, on: date) -> CrewDay | None:
    if on.isoformat() in tester.days_off:
        return None
    if not tester.hours:
        if on.weekday() not in USUAL_WEEKDAYS:
            return None
        return CrewDay(tester, on, *USUAL_HOURS, pause=None, lunch=_lunch(tester, USUAL_HOURS))
    spans = hours_on(tester.hours, on.weekday())
    if not spans:
        return None
    # With more than two spans the two longest are worked: never outside recorded hours.
    worked = sorted(sorted(spans, key=_length, reverse=True)[:2])
    pause = (worked[0][1], worked[1][0]) if len(worked) == 2 else None
    whole = (worked[0][0], worked[-1][1])
    lunch = None if pause else _lunch(tester, whole)
    return CrewDay(tester, on, *whole, pause=pause, lunch=lunch)


def _lunch(tester: Tester, hours: Span) -> Meal | None:
    """The tester's lunch, else the company's; none on a short day, or outside its window."""
    firm = tester.firm
    minutes = firm.lunch_minutes if tester.lunch_minutes is None else tester.lunch_minutes
    if not minutes or _length(hours) <= LONGEST_WITHOUT_LUNCH:
        return None
    begins = max(tester.lunch_from or firm.lunch_from or LUNCH_BETWEEN[0], hours[0])
    over = min(tester.lunch_to or firm.lunch_to or LUNCH_BETWEEN[1], hours[1])
    return Meal(minutes, begins, over) if begins < over else None


def _length(span: Span) -> int:
    start, end = span
    return (end.hour - start.hour) * 60 + end.minute - start.minute


@dataclass(frozen=True)
class Acceptance:
    """Whom a program accepts, by its own record of approvals and certificates.

    A testing company that keeps its own customers needs no approval for them.
    """

    testers: Sequence[Tester]
    own_firm_id: int | None
    approvals: Sequence[Approval]
    terms: Sequence[Certification]

    def holds(self, tester: Tester, on: date) -> bool:
        """Whether tester, firm and certificate are all accepted on a day."""
        return self._is_approved(tester, on) and any(
            term.tester_id == tester.pk and term.valid_from <= on <= term.valid_to
            for term in self.terms
        )

    def _is_approved(self, tester: Tester, on: date) -> bool:
        if tester.firm_id == self.own_firm_id:
            return True
        holding = [row for row in self.approvals if _holds(row, on)]
        return any(
            row.firm_id == tester.firm_id and row.tester_id is None for row in holding
        ) and any(row.tester_id == tester.pk for row in holding)


def acceptance_of(program: Program) -> Acceptance:
    """The program's testers, approvals and certificates, read once."""
    own_firm: Firm | None = getattr(program, "own_firm", None)
    own_id = own_firm.pk if own_firm else None
    approvals = Approval.objects.filter(program=program, gauge__isnull=True)
    testers = Tester.objects.filter(Q(firm__in=approvals.values("firm")) | Q(firm_id=own_id))
    terms = Certification.objects.filter(
        Q(program=program) | Q(program__isnull=True, tester__firm_id=own_id)
    )
    return Acceptance(
        testers=list(testers.select_related("firm").order_by("certificate", "firm__key", "pk")),
        own_firm_id=own_id,
        approvals=list(approvals),
        terms=list(terms),
    )


def _holds(approval: Approval, on: date) -> bool:
    return approval.valid_from <= on and (approval.valid_to is None or on <= approval.valid_to)
