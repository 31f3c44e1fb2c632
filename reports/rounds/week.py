"""Rows become a planner's problem: minutes on one axis, numbered places, phrases for skills."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from statistics import fmean
from zoneinfo import ZoneInfo

from registry.models import Firm, Premises
from reports.rounds.crews import CrewDay, depot_of, hours_on
from reports.rounds.due_work import DueVisit, due_test
from scheduling.domain.rounds.minutes import AssemblyJob, VisitTimes, service_minutes
from scheduling.domain.rounds.moments import MinuteAxis
from scheduling.domain.rounds.priority import visit_points
from scheduling.domain.rounds.travel import Roads
from scheduling.domain.rounds.visits import (
    Lunch,
    Problem,
    Promise,
    Spot,
    Visit,
    Window,
    WorkingDay,
)
from scheduling.models import Obligation


@dataclass(frozen=True)
class Horizon:
    """The days of a plan in the program's zone; ``today`` is when notice begins to count."""

    first_day: date
    days: int
    zone: ZoneInfo
    today: date

    @property
    def axis(self) -> MinuteAxis:
        """The axis of minutes, from midnight of the first day."""
        return MinuteAxis(self.first_day, self.zone)

    @property
    def dates(self) -> list[date]:
        """All days, week-ends too."""
        return [self.first_day + timedelta(days=ahead) for ahead in range(self.days)]

    @property
    def moments(self) -> tuple[datetime, datetime]:
        """The moment the first day begins and the one the last day is over."""
        return self.axis.moment_of(0), self.axis.moment_of(self.axis.end_of(self.dates[-1]))

    @property
    def promises_count_from(self) -> datetime:
        """Promises before this moment are over: before today, or before the plan's days."""
        day = min(self.today, self.first_day)
        return self.axis.moment_of(self.axis.minute_of(day, time(0)))


@dataclass(frozen=True)
class Week:
    """A problem with the rows behind its keys."""

    problem: Problem
    visits: dict[str, DueVisit]
    days: dict[tuple[str, date], CrewDay]
    spots: tuple[Spot, ...]
    work: dict[str, tuple[Obligation, ...]]


def week_of(
    due: Sequence[DueVisit],
    *,
    crews: Sequence[CrewDay],
    horizon: Horizon,
    times: VisitTimes,
    roads: Roads,
) -> Week:
    """The problem of a program's days.

    Without a depot on record a tester starts at the mean of the premises to be visited; on a
    day with a promise where that plan let the day start, for a mean that moves could make the
    first promise of a morning impossible.
    """
    spots = _Spots()
    where = {visit.key: spot_of(visit.premises) for visit in due}
    middle = _mean([spot for spot in where.values() if spot is not None])
    work = {visit.key: work_at(visit, times=times) for visit in due}
    visits = tuple(
        _visit(visit, spot=where[visit.key], spots=spots, horizon=horizon, work=work[visit.key])
        for visit in due
    )
    phrases = {works_for(visit.firms): visit.firms for visit in due if visit.firms}
    kept = _kept_depots(due)
    days = tuple(
        _working_day(day, depot=spots.number(depot), horizon=horizon, phrases=phrases)
        for day in crews
        if (depot := depot_of(day.tester) or kept.get((day.tester.pk, day.on), middle)) is not None
    )
    return Week(
        problem=Problem(visits=visits, days=days, travel=roads.table(spots.seen)),
        visits={visit.key: visit for visit in due},
        days={(str(day.tester.pk), day.on): day for day in crews},
        spots=tuple(spots.seen),
        work=work,
    )


def spot_of(premises: Premises) -> Spot | None:
    """Where the premises is; None without coordinates."""
    if premises.lat is None or premises.lon is None:
        return None
    return Spot(lat=float(premises.lat), lon=float(premises.lon))


def work_at(visit: DueVisit, *, times: VisitTimes) -> tuple[Obligation, ...]:
    """What is tested there: all that is due, but in a promised stop only what its time holds."""
    if visit.stop is None:
        return visit.obligations
    told = {work.assembly_id for work in visit.stop.work.all()}
    first = [one for one in visit.obligations if one.assembly_id in told]
    room = _promised_minutes(visit)
    for more in (one for one in visit.obligations if one.assembly_id not in told):
        if _minutes([*first, more], times=times) <= room:
            first.append(more)
    return tuple(first)


def _kept_depots(due: Sequence[DueVisit]) -> dict[tuple[int, date], Spot]:
    """Where the days of promised stops start, by tester and date."""
    rounds = (visit.stop.round for visit in due if visit.stop is not None)
    return {
        (one.tester_id, one.on): Spot(float(one.depot_lat), float(one.depot_lon))
        for one in rounds
        if one is not None
    }


class _Spots:
    """Numbers for places; equal coordinates are one place."""

    def __init__(self) -> None:
        self.seen: list[Spot] = []
        self._numbers: dict[Spot, int] = {}

    def number(self, spot: Spot) -> int:
        if spot not in self._numbers:
            self._numbers[spot] = len(self.seen)
            self.seen.append(spot)
        return self._numbers[spot]


def _mean(spots: Sequence[Spot]) -> Spot | None:
    if not spots:
        return None
    return Spot(
        lat=round(fmean(spot.lat for spot in spots), 6),
        lon=round(fmean(spot.lon for spot in spots), 6),
    )


def _visit(
    due: DueVisit,
    *,
    spot: Spot | None,
    spots: _Spots,
    horizon: Horizon,
    work: Sequence[Obligation],
) -> Visit:
    axis = horizon.axis
    promise = _promise(due, axis=axis)
    notice = due.premises.notice_days
    return Visit(
        key=due.key,
        place=None if spot is None else spots.number(spot),
        service_minutes=_promised_minutes(due) if promise else _minutes(work, times=VisitTimes()),
        priority=visit_points(map(due_test, work), on=horizon.first_day),
        windows=_windows(due.premises, horizon=horizon),
        skills=frozenset([works_for(due.firms)]) if due.firms else frozenset(),
        not_before=axis.minute_of(horizon.today + timedelta(days=notice), time(0)) if notice else 0,
        promise=promise,
    )


def _minutes(obligations: Sequence[Obligation], *, times: VisitTimes) -> int:
    jobs = [AssemblyJob(one.its_assembly.type, one.its_assembly.size_in) for one in obligations]
    return service_minutes(jobs, times=times)


def _promised_minutes(due: DueVisit) -> int:
    if due.stop is None:
        return 0
    return int((due.stop.leaves_at - due.stop.arrives_at) // timedelta(minutes=1))


def _promise(due: DueVisit, *, axis: MinuteAxis) -> Promise | None:
    stop = due.stop
    if stop is None or stop.round is None:
        return None
    arrive = axis.minute_at(stop.arrives_at)
    return Promise(str(stop.round.tester_id), arrive, arrive + _promised_minutes(due))


def _windows(premises: Premises, *, horizon: Horizon) -> tuple[Window, ...]:
    """Open hours on each day that is not closed; none at all when nothing is restricted."""
    if not premises.open_hours and not premises.closed_days:
        return ()
    axis = horizon.axis
    found = []
    for on in horizon.dates:
        if on.isoformat() in premises.closed_days:
            continue
        if not premises.open_hours:
            found.append(Window(axis.minute_of(on, time(0)), axis.end_of(on)))
        for opens, closes in hours_on(premises.open_hours, on.weekday()):
            found.append(Window(axis.minute_of(on, opens), axis.minute_of(on, closes)))
    # Closed on every day of the plan: a window that no working day meets says so.
    return tuple(found) or (Window(-1, -1),)


def works_for(firms: Sequence[Firm]) -> str:
    """The phrase that only testers of these testing companies bring."""
    return f"works for {' or '.join(firm.name for firm in firms)}"


def _working_day(
    day: CrewDay, *, depot: int, horizon: Horizon, phrases: dict[str, tuple[Firm, ...]]
) -> WorkingDay:
    axis = horizon.axis
    firm_phrases = [words for words, firms in phrases.items() if day.tester.firm in firms]
    return WorkingDay(
        tester=str(day.tester.pk),
        day=day.on,
        starts=axis.minute_of(day.on, day.starts),
        ends=axis.minute_of(day.on, day.ends),
        depot=depot,
        skills=frozenset([*day.tester.skills, *firm_phrases]),
        lunch=_pause(day, axis=axis),
    )


def _pause(day: CrewDay, *, axis: MinuteAxis) -> Lunch | None:
    if day.pause is None:
        return None
    opens, closes = (axis.minute_of(day.on, wall) for wall in day.pause)
    return Lunch(window=Window(opens, closes), minutes=closes - opens) if closes > opens else None
