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
from scheduling.domain.rounds.visits import Problem, Promise, Visit, WorkingDay, is_second

MOST_TRIES = 20_000
"""So many changes of days are tried at most, the most urgent visits first: a few seconds' work."""


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
    KEEP_BY_HAND = "keep by hand"
    MORE_APPROVED = "more approved"
    MORE_VISITS = "more visits"
    MORE_ROOM = "more room"
    LONGER_DAY = "longer day"
    TWO_VISITS = "two visits"
    MORE_DAYS = "more days"


_PLAIN = {
    Cause.NO_COORDINATES: HelpKind.COORDINATES,
    Cause.FORBIDDEN: HelpKind.ASK_CUSTOMER,
    Cause.NOTICE: HelpKind.LESS_NOTICE,
    Cause.NO_TESTER: HelpKind.MORE_APPROVED,
}

_TRIED = frozenset(
    {
        Cause.NO_WINDOW,
        Cause.TOO_LONG,
        Cause.NO_ROOM,
        Cause.MOST_VISITS,
        Cause.LONGEST_DAY,
        Cause.NOT_ENOUGH_HOURS,
    }
)
"""Causes whose help is looked for by trying changes; the others' is known at once."""


_ALWAYS_TRIED = (
    (HelpKind.EARLIER_START, 30),
    (HelpKind.EARLIER_START, 60),
    (HelpKind.LATER_END, 30),
    (HelpKind.LATER_END, 60),
)
_WORTH_TRYING = {
    Cause.MOST_VISITS: ((HelpKind.MORE_VISITS, 0),),
    Cause.LONGEST_DAY: ((HelpKind.LONGER_DAY, 30), (HelpKind.LONGER_DAY, 60)),
}
"""Changes of a working day that are tried, in this order, with their minutes or places."""


@dataclass(frozen=True, slots=True)
class Help:
    """One change that is enough: whose day, by how many minutes, what skills, which other visit.

    ``minutes`` are places in the van where more room helps.
    """

    kind: HelpKind
    tester: str = ""
    day: date | None = None
    minutes: int = 0
    skills: tuple[str, ...] = ()
    other: str = ""


@dataclass(frozen=True, slots=True)
class Helps:
    """What would help, by the visits' keys; ``untried`` names those for whom nothing was tried."""

    found: Mapping[str, Help]
    untried: tuple[str, ...] = ()


def helps_for(plan: Plan, *, problem: Problem, most: int = MOST_TRIES) -> Helps:
    """What would help each visit that the plan leaves out.

    Where changes have to be tried, the most urgent come first, until ``most`` places were tried.
    """
    causes = {left.visit: left for left in plan.left_out}
    tries = _Tries(_draft_of(plan, problem=problem), left=most)
    clashes = clashing_promises(problem)
    found: dict[str, Help] = {}
    untried: list[str] = []
    for visit in by_urgency(problem.visits):
        left = causes.get(visit.key)
        if left is None:
            continue
        if left.cause in _TRIED and tries.left <= 0:
            untried.append(visit.key)
        else:
            found[visit.key] = _help(visit, left, tries, clashes)
    return Helps(found, tuple(untried))


@dataclass
class _Tries:
    """The plan on which changes are tried, and how many more may be."""

    draft: Draft
    left: int

    def fits(self, visit: Visit, day: WorkingDay) -> bool:
        """Whether the visit finds a place on the changed day, as one try."""
        self.left -= 1
        return self.draft.place_on(visit, day) is not None


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
    space = 0 if is_second(stop.visit) else visit.space
    told = Promise(tester, stop.arrive, stop.leave)
    return replace(visit, key=stop.visit, promise=told, space=space)


def _help(visit: Visit, left: LeftOut, tries: _Tries, clashes: Mapping[str, str]) -> Help:
    problem = tries.draft.problem
    if plain := _PLAIN.get(left.cause):
        return Help(plain)
    if left.cause is Cause.PROMISED:
        if visit.key in clashes:
            return Help(HelpKind.OTHER_PROMISE, other=clashes[visit.key])
        return Help(HelpKind.KEEP_BY_HAND)
    found = None
    if left.cause in _TRIED:
        found = next(_changes(visit, left=left, tries=tries), None)
    found = found or _one_more(visit, problem=problem)
    if found is not None:
        return found
    return Help(HelpKind.TWO_VISITS if left.cause is Cause.TOO_LONG else HelpKind.MORE_DAYS)


def _changes(visit: Visit, *, left: LeftOut, tries: _Tries) -> Iterator[Help]:
    """Small changes that were tried and are enough, the smallest first."""
    small = replace(visit, space=0) if left.cause is Cause.NO_ROOM else visit
    able = [day for day in tries.draft.problem.days if day.may_take(small)]
    for kind, amount in _worth_trying(visit, left.cause) + _ALWAYS_TRIED:
        for day in able:
            if tries.fits(visit, _changed(day, kind, amount)):
                yield Help(kind, day.tester, day.day, amount)
    if visit.windows:
        free = replace(visit, windows=())
        for day in able:
            if tries.fits(free, day):
                yield Help(HelpKind.LONGER_WINDOW, day.tester, day.day)


def _worth_trying(visit: Visit, cause: Cause) -> tuple[tuple[HelpKind, int], ...]:
    if cause is Cause.NO_ROOM:  # a van that lacks more than its parts take was too full before
        return tuple((HelpKind.MORE_ROOM, more) for more in range(1, visit.space + 1))
    return _WORTH_TRYING.get(cause, ())


def _changed(day: WorkingDay, kind: HelpKind, amount: int) -> WorkingDay:
    """The day with a small change; as it is where it has no such limit."""
    if kind is HelpKind.EARLIER_START:
        return replace(day, starts=day.starts - amount)
    if kind is HelpKind.LATER_END:
        return replace(day, ends=day.ends + amount)
    if kind is HelpKind.MORE_VISITS and day.most_visits is not None:
        return replace(day, most_visits=day.most_visits + 1)
    if kind is HelpKind.LONGER_DAY and day.longest_minutes is not None:
        return replace(day, longest_minutes=day.longest_minutes + amount)
    if kind is HelpKind.MORE_ROOM and day.places is not None:
        return replace(day, places=day.places + amount)
    return day


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
            and more.has_room(visit, beside=())
            and fits_alone(visit, day=more, problem=problem)
        ):
            return Help(HelpKind.ONE_MORE_TESTER, day=day.day, skills=skills)
    return None
