"""A plan becomes rows: rounds per testing company, stops that keep their identity, assignments.

A stop that is only moved keeps its row and its UID, and its revision rises when what a
calendar shows of it has changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from hashlib import sha256

from registry.models import Program
from reports.models import Plan, PlanLeftOut, Round, Stop, StopWork
from reports.rounds.assigning import assign_planned
from reports.rounds.due_work import DueVisit
from reports.rounds.elsewhere import own_part
from reports.rounds.shares import Companies, carry_over, replaceable_stops
from reports.rounds.week import Horizon, Week
from reports.rounds.what_helps import help_words
from scheduling.domain.rounds import plans
from scheduling.domain.rounds.timing import lunch_between
from scheduling.domain.rounds.visits import first_key, is_second
from scheduling.models import Obligation
from scheduling.solver import Solved


@dataclass(frozen=True)
class Making:
    """When a plan was made, by whom, for which days, and with what effort."""

    at: datetime
    by: str
    horizon: Horizon
    seed: int
    iterations: int | None
    seconds: int | None
    factor: float
    kmh: float


def store_plan(
    *, program: Program, week: Week, solved: Solved, making: Making, companies: Companies = ()
) -> Plan:
    """Write the plan; what an earlier one had and nobody promised is replaced.

    With ``companies`` only theirs: the days of others go over as they stand. Runs inside the
    caller's transaction.
    """
    plan = _plan_row(program=program, week=week, solved=solved, making=making)
    writer = _StopWriter(program=program, week=week, making=making, companies=companies)
    driven = {one.key: one for one in solved.plan.rounds}
    own = own_part(solved.plan)
    seconds: list[tuple[plans.Stop, int, Round]] = []
    for one in own.rounds:
        row = _round_row(driven[one.key], plan=plan, week=week, making=making)
        for place, stop in enumerate(one.stops, start=1):
            if is_second(stop.visit):
                seconds.append((stop, place, row))
            else:
                writer.put(stop, place=place, row=row)
    for stop, place, row in seconds:
        writer.put_second(stop, place=place, row=row)
    writer.call_off_the_rest()
    helps = help_words(solved.plan, week=week)
    PlanLeftOut.objects.bulk_create(
        PlanLeftOut(
            plan=plan,
            premises=week.visits[left.visit].premises,
            kind=left.cause.value,
            reason=left.words[:500],
            helps=helps.get(left.visit, "")[:300],
        )
        for left in own.left_out
    )
    if companies:
        carry_over(plan, companies=companies)
    assign_planned(program=program, on=making.horizon.today)
    Round.objects.filter(plan__program=program, stops__isnull=True).exclude(plan=plan).delete()
    return plan


def uid_of(*, program: Program, visit: DueVisit, work: Iterable[Obligation]) -> str:
    """A calendar's name for the visit: from program, premises and the first obligation's origin.

    The same obligation gives the same UID in every plan; a later cycle gives another.
    """
    first = min(
        work, key=lambda one: (one.due_on, one.its_assembly.serial_key, one.pk), default=None
    )
    parts = [program.code, visit.premises.key]
    if first is not None:
        parts += [first.its_assembly.maker_key, first.its_assembly.serial_key]
        parts += [first.kind, first.origin, first.period]
    return f"{sha256(chr(31).join(parts).encode()).hexdigest()[:32]}@waterclerk"


def second_uid(first: Stop) -> str:
    """The calendar's name for a second person's presence at a visit."""
    return f"second-{first.uid}"


def _plan_row(*, program: Program, week: Week, solved: Solved, making: Making) -> Plan:
    rounds = solved.plan.rounds
    problem = week.problem
    return Plan.objects.create(
        program=program,
        from_on=making.horizon.first_day,
        days=making.horizon.days,
        made_at=making.at,
        made_by=making.by,
        seed=making.seed,
        iterations=making.iterations,
        seconds=making.seconds,
        feasible=solved.is_feasible,
        how=solved.plan.how,
        visits=len(week.visits),
        drive_minutes=sum(plans.drive_minutes(one, travel=problem.travel) for one in rounds),
        work_minutes=sum(
            plans.work_minutes(one, problem=problem) for one in own_part(solved.plan).rounds
        ),
        minutes_from=week.minutes_from[:300],
        travel_how=problem.travel.how,
        travel_factor=Decimal(str(making.factor)),
        travel_kmh=Decimal(str(making.kmh)),
    )


def _round_row(one: plans.Round, *, plan: Plan, week: Week, making: Making) -> Round:
    day = week.problem.day_by_key[one.key]
    tester = week.days[one.key].tester
    depot = week.spots[one.depot]
    axis = making.horizon.axis
    lunch = lunch_between(one.stops, day=day, travel=week.problem.travel)
    return Round.objects.create(
        plan=plan,
        firm=tester.firm,
        tester=tester,
        on=one.day,
        starts_at=axis.moment_of(day.starts),
        ends_at=axis.moment_of(day.ends),
        lunch_from=axis.moment_of(lunch.opens) if lunch else None,
        lunch_to=axis.moment_of(lunch.closes) if lunch else None,
        depot_lat=Decimal(str(depot.lat)),
        depot_lon=Decimal(str(depot.lon)),
        drive_minutes=plans.drive_minutes(one, travel=week.problem.travel),
        work_minutes=plans.work_minutes(one, problem=week.problem),
    )


@dataclass(frozen=True)
class _Shown:
    """What a calendar shows of a stop; a difference raises its revision."""

    tester_id: int | None
    arrives_at: datetime
    leaves_at: datetime
    assembly_ids: frozenset[int]
    is_cancelled: bool = False


class _StopWriter:
    """Finds each visit's row of earlier plans, or makes it, and brings it up to date."""

    def __init__(
        self, *, program: Program, week: Week, making: Making, companies: Companies
    ) -> None:
        self._program = program
        self._week = week
        self._making = making
        self._rows: dict[str, Stop] = {}
        replaceable = replaceable_stops(
            program=program, over=making.horizon.promises_count_from, companies=companies
        )
        self._left = {stop.pk: stop for stop in replaceable}
        self._by_obligation = {
            work.obligation_id: stop
            for stop in self._left.values()
            for work in stop.work.all()
            if work.obligation_id is not None
        }
        self._by_uid: Mapping[str, Stop] = {
            stop.uid: stop
            for stop in Stop.objects.filter(program=program).prefetch_related("work", "round")
        }

    def put(self, planned: plans.Stop, *, place: int, row: Round) -> None:
        """Write one stop of a round."""
        visit, work = self._week.visits[planned.visit], self._week.work[planned.visit]
        axis = self._making.horizon.axis
        shown = _Shown(
            tester_id=row.tester_id,
            arrives_at=axis.moment_of(planned.arrive),
            leaves_at=axis.moment_of(planned.leave),
            assembly_ids=_assemblies(visit, work),
        )
        stop = self._known(visit, work)
        if stop is None:
            uid = uid_of(program=self._program, visit=visit, work=work)
            stop = self._create(visit, uid=uid, shown=shown, place=place, row=row)
        else:
            self._left.pop(stop.pk, None)
            self._update(stop, shown=shown, place=place, row=row)
        self._write_work(stop, work, shown.assembly_ids)
        self._rows[planned.visit] = stop

    def put_second(self, planned: plans.Stop, *, place: int, row: Round) -> None:
        """Write a second person's presence at a visit that was written before."""
        key = first_key(planned.visit)
        first, visit = self._rows[key], self._week.visits[key]
        axis = self._making.horizon.axis
        times = (axis.moment_of(planned.arrive), axis.moment_of(planned.leave))
        shown = _Shown(row.tester_id, *times, frozenset())
        stop = visit.second or self._by_uid.get(second_uid(first))
        if stop is None:
            stop = self._create(visit, uid=second_uid(first), shown=shown, place=place, row=row)
        else:
            self._left.pop(stop.pk, None)
            self._update(stop, shown=shown, place=place, row=row)
        if stop.second_of_id != first.pk:
            stop.second_of = first
            stop.save(update_fields=["second_of"])

    def call_off_the_rest(self) -> None:
        """Cancel what an earlier plan had on these days or later and this one has not."""
        first, _last = self._making.horizon.moments
        for stop in self._left.values():
            if not stop.is_fixed and stop.arrives_at >= first:
                stop.cancelled_at = stop.revised_at = self._making.at
                stop.revision += 1
                stop.save(update_fields=["cancelled_at", "revised_at", "revision"])

    def _known(self, visit: DueVisit, work: Iterable[Obligation]) -> Stop | None:
        """The promised row; else one that shares an obligation; else one of the same UID."""
        if visit.stop is not None:
            return visit.stop
        for obligation in work:
            stop = self._by_obligation.get(obligation.pk)
            mine = stop is not None and stop.premises_id == visit.premises.pk
            if stop is not None and mine and stop.pk in self._left:
                return stop
        return self._by_uid.get(uid_of(program=self._program, visit=visit, work=work))

    def _create(self, visit: DueVisit, *, uid: str, shown: _Shown, place: int, row: Round) -> Stop:
        return Stop.objects.create(
            program=self._program,
            round=row,
            premises=visit.premises,
            uid=uid,
            place=place,
            arrives_at=shown.arrives_at,
            leaves_at=shown.leaves_at,
            revised_at=self._making.at,
        )

    def _update(self, stop: Stop, *, shown: _Shown, place: int, row: Round) -> None:
        if shown != _shown(stop):
            stop.revision += 1
            stop.revised_at = self._making.at
        if stop.arrives_at < self._making.horizon.promises_count_from:
            # Promised for a day that is over: the new day is nobody's promise yet.
            stop.promised_at, stop.promised_by, stop.pinned_at = None, "", None
        stop.round, stop.place, stop.cancelled_at = row, place, None
        stop.arrives_at, stop.leaves_at = shown.arrives_at, shown.leaves_at
        stop.save()

    def _write_work(
        self, stop: Stop, work: Iterable[Obligation], assembly_ids: frozenset[int]
    ) -> None:
        obligations = {one.assembly_id: one.pk for one in work}
        stop.work.exclude(assembly_id__in=assembly_ids).delete()
        StopWork.objects.bulk_create(
            [
                StopWork(stop=stop, assembly_id=pk, obligation_id=obligations.get(pk))
                for pk in sorted(assembly_ids)
            ],
            update_conflicts=True,
            unique_fields=["stop", "assembly"],
            update_fields=["obligation"],
        )


def _assemblies(visit: DueVisit, work: Iterable[Obligation]) -> frozenset[int]:
    """The assemblies to test: those of the work, and what a promised stop has besides."""
    told = [one.assembly_id for one in visit.stop.work.all()] if visit.stop else []
    return frozenset([*told, *(one.its_assembly.pk for one in work)])


def _shown(stop: Stop) -> _Shown:
    shown = _Shown(
        tester_id=stop.round.tester_id if stop.round else None,
        arrives_at=stop.arrives_at,
        leaves_at=stop.leaves_at,
        assembly_ids=frozenset(work.assembly_id for work in stop.work.all()),
    )
    return shown if stop.cancelled_at is None else replace(shown, is_cancelled=True)
