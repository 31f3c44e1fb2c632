"""Rows become a planner's problem: minutes on one axis, numbered places, phrases for skills."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from registry.models import Assembly, Firm, Premises
from reports.models import Stop
from reports.rounds.asked_not import barred_days, closed_by_wish
from reports.rounds.crews import CrewDay, depot_of, hours_on
from reports.rounds.due_work import DueVisit, due_test
from reports.rounds.needs import notice_needed, people_needed, skills_needed, space_needed
from reports.rounds.spots import Spots, mean_of
from reports.rounds.zip_places import middle_of_zip
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
    by_zip: frozenset[str] = frozenset()
    minutes_from: str = ""


def week_of(
    due: Sequence[DueVisit],
    *,
    crews: Sequence[CrewDay],
    horizon: Horizon,
    times: VisitTimes,
    roads: Roads,
    places_by_zip: bool = False,
    depots: Mapping[tuple[int, date], Spot] | None = None,
    parts_from_in: Decimal | None = None,
) -> Week:
    """The problem of a program's days.

    With ``places_by_zip`` a premises without coordinates is taken to be in the middle of its ZIP
    code, and marked.

    Without a depot on record a tester starts at the mean of the premises to be visited; on a
    day with a promise where that plan let the day start, for a mean that moves could make the
    first promise of a morning impossible. ``depots`` names more such days.

    From ``parts_from_in`` inches on the parts for an assembly take a place in the van.
    """
    spots = Spots()
    where = {visit.key: spot_of(visit.premises) for visit in due}
    by_zip = _by_zip(due, where) if places_by_zip else {}
    where |= by_zip
    middle = mean_of([spot for spot in where.values() if spot is not None])
    work = {visit.key: work_at(visit, times=times) for visit in due}
    makes = _Makes(spots, horizon, times, crews, _skills_recorded(crews), parts_from_in)
    visits = tuple(makes.visit(visit, spot=where[visit.key], work=work[visit.key]) for visit in due)
    phrases = {works_for(visit.firms): visit.firms for visit in due if visit.firms}
    kept = depots_of(visit.stop for visit in due) | dict(depots or {})
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
        by_zip=frozenset(by_zip),
        minutes_from=times.source,
    )


def _by_zip(due: Sequence[DueVisit], where: Mapping[str, Spot | None]) -> dict[str, Spot]:
    lost = [visit for visit in due if where[visit.key] is None]
    found = {visit.key: middle_of_zip(visit.premises.zip) for visit in lost}
    return {key: spot for key, spot in found.items() if spot is not None}


def _skills_recorded(crews: Sequence[CrewDay]) -> frozenset[str]:
    return frozenset(skill for day in crews for skill in day.tester.skills)


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


def depots_of(stops: Iterable[Stop | None]) -> dict[tuple[int, date], Spot]:
    """Where the days of these stops start, by tester and date."""
    rounds = (stop.round for stop in stops if stop is not None)
    return {
        (one.tester_id, one.on): Spot(float(one.depot_lat), float(one.depot_lon))
        for one in rounds
        if one is not None
    }


@dataclass(frozen=True)
class _Makes:
    """Visits made from due work, all with one set of times, days and testers."""

    spots: Spots
    horizon: Horizon
    times: VisitTimes
    crews: Sequence[CrewDay]
    recorded: frozenset[str]
    parts_from_in: Decimal | None

    def visit(self, due: DueVisit, *, spot: Spot | None, work: Sequence[Obligation]) -> Visit:
        """The visit with all that binds it."""
        axis = self.horizon.axis
        promise = _promise(due, axis=axis)
        assemblies = _tested(due, work)
        notice = notice_needed(due.premises, assemblies)
        firms = {works_for(due.firms)} if due.firms else set()
        return Visit(
            key=due.key,
            place=None if spot is None else self.spots.number(spot),
            service_minutes=_promised_minutes(due) if promise else _minutes(work, times=self.times),
            priority=visit_points(map(due_test, work), on=self.horizon.first_day),
            windows=_windows(due, horizon=self.horizon),
            skills=skills_needed(assemblies, recorded=self.recorded) | firms,
            not_before=self._notice_over(notice) if notice else 0,
            promise=promise,
            barred=barred_days(due.wishes, self.crews) if due.wishes else frozenset(),
            people=people_needed(assemblies),
            second_promise=_second_promise(due, axis=axis),
            space=space_needed(assemblies, parts_from_in=self.parts_from_in),
        )

    def _notice_over(self, days: int) -> int:
        return self.horizon.axis.minute_of(self.horizon.today + timedelta(days=days), time(0))


def _tested(due: DueVisit, work: Sequence[Obligation]) -> list[Assembly]:
    """The assemblies of the visit, those of a promised stop too."""
    told = [one.assembly for one in due.stop.work.all()] if due.stop else []
    found = {one.pk: one for one in [*told, *(one.its_assembly for one in work)]}
    return list(found.values())


def _minutes(obligations: Sequence[Obligation], *, times: VisitTimes) -> int:
    jobs = [AssemblyJob(one.its_assembly.type, one.its_assembly.size_in) for one in obligations]
    return service_minutes(jobs, times=times)


def _promised_minutes(due: DueVisit) -> int:
    if due.stop is None:
        return 0
    return int((due.stop.leaves_at - due.stop.arrives_at) // timedelta(minutes=1))


def _promise(due: DueVisit, *, axis: MinuteAxis) -> Promise | None:
    return _kept(due, due.stop, axis=axis)


def _second_promise(due: DueVisit, *, axis: MinuteAxis) -> Promise | None:
    return _kept(due, due.second, axis=axis)


def _kept(due: DueVisit, stop: Stop | None, *, axis: MinuteAxis) -> Promise | None:
    if stop is None or stop.round is None:
        return None
    arrive = axis.minute_at(stop.arrives_at)
    return Promise(str(stop.round.tester_id), arrive, arrive + _promised_minutes(due))


def _windows(due: DueVisit, *, horizon: Horizon) -> tuple[Window, ...]:
    """Open hours on each day that is not closed; none at all when nothing is restricted."""
    premises = due.premises
    closed = {*premises.closed_days, *closed_by_wish(due.wishes, horizon.dates)}
    if not premises.open_hours and not closed:
        return ()
    axis = horizon.axis
    found = []
    for on in horizon.dates:
        if on.isoformat() in closed:
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
        most_visits=day.tester.most_visits,
        places=day.tester.van_places,
        team=str(day.tester.firm_id),
    )


def _pause(day: CrewDay, *, axis: MinuteAxis) -> Lunch | None:
    if day.lunch is not None:
        begins, over = (axis.minute_of(day.on, at) for at in (day.lunch.begins, day.lunch.over))
        room = over - begins >= day.lunch.minutes
        return Lunch(Window(begins, over), day.lunch.minutes) if room else None
    if day.pause is None:
        return None
    opens, closes = (axis.minute_of(day.on, wall) for wall in day.pause)
    return Lunch(window=Window(opens, closes), minutes=closes - opens) if closes > opens else None
