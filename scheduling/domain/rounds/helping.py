"""What would let a visit be planned that is in no round: the least change that is enough.

Each answer was tried on the plan as it stands, so that it holds when nothing else changes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from scheduling.domain.rounds.insertion import Draft, by_urgency
from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Stop
from scheduling.domain.rounds.timing import fits_alone
from scheduling.domain.rounds.visits import Problem, Promise, Visit, WorkingDay

MOST_TRIED = 30
"""So many of the visits left out, the most urgent, get an answer: trying takes time."""

EARLIER, LATER = (30, 60), (30, 60)
"""Minutes by which a working day is tried to begin sooner or to end later."""


class HelpKind(StrEnum):
    """What a dispatcher could change."""

    EARLIER_START = "earlier start"
    LATER_END = "later end"
    LONGER_WINDOW = "longer window"
    LESS_NOTICE = "less notice"
    ONE_MORE_TESTER = "one more tester"
    COORDINATES = "coordinates"
    OTHER_PROMISE = "other promise"
    ASK_CUSTOMER = "ask customer"


_PLAIN = {
    Cause.NO_COORDINATES: HelpKind.COORDINATES,
    Cause.FORBIDDEN: HelpKind.ASK_CUSTOMER,
    Cause.NOTICE: HelpKind.LESS_NOTICE,
}


@dataclass(frozen=True, slots=True)
class Help:
    """One change that is enough: whose day, by how many minutes, what skills, which other visit."""

    kind: HelpKind
    tester: str = ""
    day: date | None = None
    minutes: int = 0
    skills: tuple[str, ...] = ()
    other: str = ""


def helps_for(plan: Plan, *, problem: Problem) -> dict[str, Help]:
    """What would help the most urgent visits that the plan leaves out, by their key."""
    causes = {left.visit: left for left in plan.left_out}
    tried = [v for v in by_urgency(problem.visits) if v.key in causes][:MOST_TRIED]
    draft = _draft_of(plan, problem=problem)
    clashes = clashing_promises(problem)
    found = {visit.key: _help(visit, causes[visit.key], draft, clashes) for visit in tried}
    return {key: one for key, one in found.items() if one is not None}


def clashing_promises(problem: Problem) -> Mapping[str, str]:
    """For each promised visit another one that its tester was promised for and cannot do as well.

    Each pair is looked at alone: too little time for the drive from the earlier to the later.
    """
    promised = sorted(
        (
            visit
            for visit in problem.visits
            if visit.promise is not None and visit.place is not None
        ),
        key=lambda visit: (visit.promise.arrive if visit.promise else 0, visit.key),
    )
    found: dict[str, str] = {}
    for index, before in enumerate(promised):
        for after in promised[index + 1 :]:
            if _clash(before, after, problem=problem):
                found.setdefault(before.key, after.key)
                found.setdefault(after.key, before.key)
    return found


def _clash(before: Visit, after: Visit, *, problem: Problem) -> bool:
    one, other = before.promise, after.promise
    assert one is not None
    assert other is not None
    if one.tester != other.tester:
        return False
    assert before.place is not None
    assert after.place is not None
    return other.arrive < one.leave + problem.travel.between(before.place, after.place)


def _draft_of(plan: Plan, *, problem: Problem) -> Draft:
    draft = Draft(problem=problem)
    for one in plan.rounds:
        asked = [(stop, problem.asked_for(stop.visit)) for stop in one.stops]
        draft.orders[one.key] = [
            visit if visit.people < 2 else _as_planned(visit, stop, tester=one.tester)
            for stop, visit in asked
            if visit is not None
        ]
    return draft


def _as_planned(visit: Visit, stop: Stop, *, tester: str) -> Visit:
    """Two people's time is not moved by whatever helps another visit."""
    return replace(visit, key=stop.visit, promise=Promise(tester, stop.arrive, stop.leave))


def _help(visit: Visit, left: LeftOut, draft: Draft, clashes: Mapping[str, str]) -> Help | None:
    problem = draft.problem
    if plain := _PLAIN.get(left.cause):
        return Help(plain)
    if left.cause is Cause.PROMISED and visit.key in clashes:
        return Help(HelpKind.OTHER_PROMISE, other=clashes[visit.key])
    if left.cause in {Cause.NO_SKILL, Cause.TWO_PEOPLE}:
        return _one_more(visit, problem=problem)
    if left.cause in {Cause.NO_WINDOW, Cause.NOT_ENOUGH_HOURS, Cause.TOO_LONG}:
        return next(_changes(visit, draft=draft), None) or _one_more(visit, problem=problem)
    return None


def _changes(visit: Visit, *, draft: Draft) -> Iterator[Help]:
    """Small changes that were tried and are enough, the smallest first."""
    able = [day for day in draft.problem.days if day.may_take(visit)]
    for minutes in EARLIER:
        for day in able:
            if _fits(visit, replace(day, starts=day.starts - minutes), draft):
                yield Help(HelpKind.EARLIER_START, day.tester, day.day, minutes)
    for minutes in LATER:
        for day in able:
            if _fits(visit, replace(day, ends=day.ends + minutes), draft):
                yield Help(HelpKind.LATER_END, day.tester, day.day, minutes)
    if visit.windows:
        free = replace(visit, windows=())
        for day in able:
            if _fits(free, day, draft):
                yield Help(HelpKind.LONGER_WINDOW, day.tester, day.day)


def _fits(visit: Visit, day: WorkingDay, draft: Draft) -> bool:
    return draft.place_on(visit, day) is not None


def _one_more(visit: Visit, *, problem: Problem) -> Help | None:
    """One more tester like those at work, who brings what is asked for and starts from there."""
    if visit.place is None:
        return None
    skills = tuple(sorted(visit.skills))
    for day in problem.days:
        more = replace(day, skills=visit.skills, tester="", lunch=None)
        if (
            more.key not in visit.barred
            and (day.tester, day.day) not in visit.barred
            and fits_alone(visit, day=more, problem=problem)
        ):
            return Help(HelpKind.ONE_MORE_TESTER, day=day.day, skills=skills)
    return None
