"""A plan between being worked out and being kept, and what it would move for whom."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any, Final

from registry.models import Premises
from reports.models import Stop
from reports.rounds.elsewhere import is_own
from reports.rounds.planning import Asked
from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Round
from scheduling.domain.rounds.plans import Stop as PlannedStop
from scheduling.domain.rounds.visits import Visit, WorkingDay
from scheduling.solver import Solved

NOT_DUE: Final = "nothing is due there now"
SHORTLY: Final = {
    Cause.NO_SKILL: "no tester for what it asks",
    Cause.FORBIDDEN: "the customer wants nobody who could come",
    Cause.TWO_PEOPLE: "no two people are free together",
    Cause.NOTICE: "notice too short",
    Cause.NO_WINDOW: "its open hours meet no working hours",
    Cause.TOO_LONG: "too long for one day",
    Cause.MOST_VISITS: "most visits a day reached",
    Cause.LONGEST_DAY: "longest day reached",
}


@dataclass(frozen=True)
class Move:
    """What a plan changes for one premises; ``was`` or ``now`` is None where no visit is."""

    premises: Premises
    was: datetime | None
    now: datetime | None
    tester_was: str
    tester_now: str
    was_promised: bool = False
    """Promised or pinned: it stands also where the plan has no place for it."""
    why_not: str = ""
    """Why it is not planned any more, in few words; empty where it is."""

    @property
    def is_only_hour(self) -> bool:
        """Whether the same tester comes on the same day, at another hour."""
        if self.was is None or self.now is None:
            return False
        same_day = self.was.date() == self.now.astimezone(self.was.tzinfo).date()
        return same_day and self.tester_was == self.tester_now


def plain_plan(plan: Plan) -> dict[str, Any]:
    """A plan as JSON can hold it."""
    return {
        "how": plan.how,
        "rounds": [
            [one.tester, one.day.isoformat(), one.depot, [_plain(stop) for stop in one.stops]]
            for one in plan.rounds
        ],
        "left_out": [[one.visit, one.cause.value, one.words] for one in plan.left_out],
    }


def plan_again(told: Mapping[str, Any]) -> Plan:
    """The plan that :func:`plain_plan` wrote."""
    rounds = tuple(
        Round(tester, date.fromisoformat(day), depot, tuple(PlannedStop(*stop) for stop in stops))
        for tester, day, depot, stops in told["rounds"]
    )
    left = tuple(LeftOut(visit, Cause(cause), words) for visit, cause, words in told["left_out"])
    return Plan(rounds=rounds, left_out=left, how=told["how"])


def solved_again(told: Mapping[str, Any], asked: Asked) -> Solved:
    """The plan looked at anew by the checker, against what is asked now."""
    plan = plan_again(told)
    return Solved(plan=plan, violations=violations(plan, problem=asked.week.problem), notes=())


def digest_of(asked: Asked) -> str:
    """Tells whether what was asked is still what there is to plan."""
    problem = asked.week.problem
    lines = [_stable(visit) for visit in problem.visits] + [_stable(day) for day in problem.days]
    lines += [repr(spot) for spot in asked.week.spots] + [repr(sorted(map(str, asked.promises)))]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def _stable(one: Visit | WorkingDay) -> str:
    """All its values; a set in the same order in every process."""
    values = [getattr(one, field.name) for field in fields(one)]
    return repr([sorted(map(str, v)) if isinstance(v, frozenset) else v for v in values])


def moves_of(plan: Plan, asked: Asked) -> list[Move]:
    """What keeping the plan would change for whom, by the time as it stands; new visits last."""
    first, last = asked.horizon.moments
    standing = Stop.objects.filter(
        program=asked.program,
        arrives_at__gte=first,
        arrives_at__lt=last,
        cancelled_at__isnull=True,
        second_of__isnull=True,
    ).select_related("premises", "round__tester")
    if asked.wish.companies:
        standing = standing.filter(round__firm__in=asked.wish.companies)
    was = {str(stop.premises_id): stop for stop in standing}
    now = {
        stop.visit: (one, stop) for one in plan.rounds for stop in one.stops if is_own(stop.visit)
    }
    causes = {left.visit: SHORTLY.get(left.cause, str(left.cause)) for left in plan.left_out}
    moment_of = asked.horizon.axis.moment_of
    found = []
    for key in {**was, **now}:
        before = was.get(key)
        after = now.get(key)
        tester_was = str(before.round.tester_id) if before and before.round else ""
        tester_now = after[0].tester if after else ""
        arrives = moment_of(after[1].arrive) if after else None
        if before is not None and (before.arrives_at, tester_was) == (arrives, tester_now):
            continue
        premises = before.premises if before else asked.week.visits[key].premises
        at = before.arrives_at.astimezone(asked.horizon.zone) if before else None
        names = _names(asked, before)
        fixed = before is not None and before.is_fixed
        why = "" if after else causes.get(key, NOT_DUE)
        found.append(Move(premises, at, arrives, names(tester_was), names(tester_now), fixed, why))
    return sorted(found, key=lambda one: (one.was is None, one.was or one.now, one.premises.pk))


def _names(asked: Asked, stop: Stop | None) -> Any:
    known = {key[0]: day.tester for key, day in asked.week.days.items()}
    if stop is not None and stop.round is not None:
        known.setdefault(str(stop.round.tester_id), stop.round.tester)

    def name(key: str) -> str:
        return (known[key].name or known[key].certificate) if key in known else ""

    return name


def _plain(stop: PlannedStop) -> list[Any]:
    return [stop.visit, stop.place, stop.arrive, stop.leave]
