"""A tester's day written as wanted, with both sides of the change, so that it can be undone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from registry.changes import Hand
from registry.models import Assignment, Premises, Program
from reports.models import Plan, Round, Stop, StopWork
from reports.rounds.as_planned import AsPlanned
from reports.rounds.due_work import BY_PLAN
from reports.rounds.elsewhere import is_own
from reports.rounds.storing import second_uid, uid_of
from scheduling.domain.rounds import plans
from scheduling.domain.rounds.by_hand import wanted_times
from scheduling.domain.rounds.timing import lunch_between
from scheduling.domain.rounds.visits import first_key, is_second

DayKey = tuple[str, date]
_FOR_BOTH = ("promised_at", "promised_by", "pinned_at", "cancelled_at")
Snapshot = dict[str, dict[str, Any] | None]
"""Stops by id as JSON can hold them; None for one that was not there."""


@dataclass
class DayWriter:
    """Writes days of a plan; ``before`` and ``after`` keep what every touched stop was and is."""

    program: Program
    planned: AsPlanned
    hand: Hand
    plan: Plan
    before: Snapshot = field(default_factory=dict)
    after: Snapshot = field(default_factory=dict)

    def write(self, key: DayKey) -> None:
        """Bring a day's rows to the draft's order, with the times that order is driven at."""
        week, draft = self.planned.week, self.planned.draft
        day = week.problem.day_by_key[key]
        order = draft.orders.get(key, [])
        stops, _keeps = wanted_times(order, day=day, travel=week.problem.travel)
        row = self._round(key)
        place = 0
        for stop in stops:
            if is_own(stop.visit):
                place += 1
                self._put(stop, place=place, row=row)
            elif is_second(stop.visit):
                place += 1
                self._put_second(stop, place=place, row=row)
        driven = plans.Round(tester=key[0], day=key[1], depot=day.depot, stops=stops)
        row.drive_minutes = plans.drive_minutes(driven, travel=week.problem.travel)
        row.work_minutes = plans.work_minutes(driven, problem=week.problem)
        lunch = lunch_between(stops, day=day, travel=week.problem.travel)
        moment_of = self.planned.horizon.axis.moment_of
        row.lunch_from = moment_of(lunch.opens) if lunch else None
        row.lunch_to = moment_of(lunch.closes) if lunch else None
        row.save(update_fields=["drive_minutes", "work_minutes", "lunch_from", "lunch_to"])

    def note(self, stop: Stop) -> None:
        """Remember a stop as it stands before it is changed."""
        self.before.setdefault(str(stop.pk), shown(stop))

    def keep(self, stop: Stop, **changed: Any) -> None:
        """Change a stop's fields and remember both sides.

        Where two people are there at once, what is promised, pinned or called off holds for both.
        """
        self.note(stop)
        for name, value in changed.items():
            setattr(stop, name, value)
        stop.revision += 1
        stop.revised_at = self.hand.at
        stop.save()
        self.after[str(stop.pk)] = shown(stop)
        both = {name: value for name, value in changed.items() if name in _FOR_BOTH}
        if both and stop.second_of_id is None:
            for second in stop.seconds.filter(cancelled_at__isnull=True):
                self.keep(second, **both)

    def _round(self, key: DayKey) -> Round:
        week, axis = self.planned.week, self.planned.horizon.axis
        day = week.problem.day_by_key[key]
        tester = week.days[key].tester
        depot = week.spots[day.depot]
        found, _made = Round.objects.get_or_create(
            plan=self.plan,
            tester=tester,
            on=key[1],
            defaults={
                "firm": tester.firm,
                "starts_at": axis.moment_of(day.starts),
                "ends_at": axis.moment_of(day.ends),
                "depot_lat": Decimal(str(depot.lat)),
                "depot_lon": Decimal(str(depot.lon)),
            },
        )
        return found

    def _put(self, planned: plans.Stop, *, place: int, row: Round) -> None:
        axis = self.planned.horizon.axis
        arrives, leaves = axis.moment_of(planned.arrive), axis.moment_of(planned.leave)
        stop = self.planned.stops.get(planned.visit)
        if stop is None:
            self._create(planned.visit, row=row, place=place, arrives=arrives, leaves=leaves)
            return
        is_same = stop.round is not None and stop.round.tester_id == row.tester_id
        if is_same and (stop.arrives_at, stop.leaves_at) == (arrives, leaves):
            if (stop.place, stop.round_id) != (place, row.pk):  # nothing a calendar shows
                stop.place, stop.round = place, row
                stop.save(update_fields=["place", "round"])
            return
        self.keep(stop, round=row, place=place, arrives_at=arrives, leaves_at=leaves)

    def _put_second(self, planned: plans.Stop, *, place: int, row: Round) -> None:
        """A second person's presence, at a visit that is written already."""
        axis = self.planned.horizon.axis
        arrives, leaves = axis.moment_of(planned.arrive), axis.moment_of(planned.leave)
        stop = self.planned.seconds.get(planned.visit)
        if stop is None:
            stop = self._second_of(planned.visit, row=row, arrives=arrives, leaves=leaves)
        is_same = stop.round is not None and stop.round.tester_id == row.tester_id
        if is_same and (stop.arrives_at, stop.leaves_at) == (arrives, leaves):
            if (stop.place, stop.round_id) != (place, row.pk):  # nothing a calendar shows
                stop.place, stop.round = place, row
                stop.save(update_fields=["place", "round"])
            return
        self.keep(stop, round=row, place=place, arrives_at=arrives, leaves_at=leaves)

    def _second_of(self, visit: str, *, row: Round, arrives: datetime, leaves: datetime) -> Stop:
        first = self.planned.stops[first_key(visit)]
        stop = self._stored(
            second_uid(first),
            premises=first.premises,
            second_of=first,
            row=row,
            place=1,
            arrives=arrives,
            leaves=leaves,
        )
        self.planned.seconds[visit] = stop
        return stop

    def _stored(
        self,
        uid: str,
        *,
        premises: Premises,
        row: Round,
        place: int,
        arrives: datetime,
        leaves: datetime,
        second_of: Stop | None = None,
    ) -> Stop:
        """The stop of this name, made where there is none; one called off once is wanted again."""
        times = {"arrives_at": arrives, "leaves_at": leaves}
        stop, made = Stop.objects.get_or_create(
            uid=uid,
            defaults={
                "program": self.program,
                "premises": premises,
                "round": row,
                "place": place,
                "second_of": second_of,
                "revised_at": self.hand.at,
                **times,
            },
        )
        if made:
            self.before[str(stop.pk)] = None
            self.after[str(stop.pk)] = shown(stop)
        else:
            self.keep(stop, round=row, place=place, cancelled_at=None, **times)
        return stop

    def _create(
        self, visit: str, *, row: Round, place: int, arrives: datetime, leaves: datetime
    ) -> None:
        due, work = self.planned.week.visits[visit], self.planned.week.work[visit]
        stop = self._stored(
            uid_of(program=self.program, visit=due, work=work),
            premises=due.premises,
            row=row,
            place=place,
            arrives=arrives,
            leaves=leaves,
        )
        self.planned.stops[visit] = stop
        owed = {one.its_assembly.pk: one.pk for one in work}
        StopWork.objects.bulk_create(
            [StopWork(stop=stop, assembly_id=a, obligation_id=o) for a, o in owed.items()],
            update_conflicts=True,
            unique_fields=["stop", "assembly"],
            update_fields=["obligation"],
        )
        Assignment.objects.get_or_create(
            program=self.program,
            firm=row.firm,
            premises=due.premises,
            ended_on=None,
            defaults={"made_on": self.planned.horizon.today, "how": BY_PLAN},
        )


def shown(stop: Stop) -> dict[str, Any]:
    """All that a change by hand may change of a stop."""
    return {
        "round": stop.round_id,
        "place": stop.place,
        "arrives_at": _utc(stop.arrives_at),
        "leaves_at": _utc(stop.leaves_at),
        "promised_at": _utc(stop.promised_at),
        "promised_by": stop.promised_by,
        "pinned_at": _utc(stop.pinned_at),
        "cancelled_at": _utc(stop.cancelled_at),
    }


def put_back(stop: Stop, kept: Mapping[str, Any], *, at: datetime) -> None:
    """Give a stop what :func:`shown` kept of it; its revision rises all the same."""
    stop.round = Round.objects.filter(pk=kept["round"]).first()
    stop.place, stop.promised_by = kept["place"], kept["promised_by"]
    for name in ("arrives_at", "leaves_at", "promised_at", "pinned_at", "cancelled_at"):
        value = kept[name]
        setattr(stop, name, datetime.fromisoformat(value) if value else None)
    stop.revision += 1
    stop.revised_at = at
    stop.save()


def _utc(moment: datetime | None) -> str | None:
    return None if moment is None else moment.astimezone(UTC).isoformat()
