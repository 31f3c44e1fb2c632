"""Why a visit is in no round: the cheapest reason to establish is told, and what would help."""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.domain.rounds.plans import Cause, LeftOut
from scheduling.domain.rounds.timing import fits_alone
from scheduling.domain.rounds.visits import Problem, Visit, Window, WorkingDay

NO_TESTER = (
    "no tester: no approved testing company has a tester with a valid certificate "
    "at work on these days"
)

FORBIDDEN = (
    "the customer asked not to have whoever could come on these days: see what the premises asked "
    "for, or plan other days"
)

MOST_VISITS = (
    "most visits reached: a tester has hours left, but no more visits a day; more visits a day or "
    "another day would help"
)

LONGEST_DAY = (
    "longest day reached: a tester has hours left, but may not be out so long; a longer day out or "
    "another day would help"
)

NO_ROOM = (
    "no room in the van: a tester has hours left, but the parts for this visit find no place in "
    "the van beside the others; more room or another day would help"
)

PROMISED = (
    "promised to the customer, but that tester is not at work then or cannot get there in time: "
    "keep it by hand or call the customer"
)


def why_left_out(visit: Visit, *, problem: Problem) -> LeftOut:
    """The first cause that holds, in the order of ``Cause``.

    The last one, not enough hours, holds when each cause before it does not.
    """
    cause, words = _reason(visit, problem)
    return LeftOut(visit=visit.key, cause=cause, words=words)


def _reason(visit: Visit, problem: Problem) -> tuple[Cause, str]:
    if visit.place is None:
        return Cause.NO_COORDINATES, "no coordinates: add latitude and longitude to the premises"
    if visit.promise is not None:
        return Cause.PROMISED, PROMISED
    if not problem.days:
        return Cause.NO_TESTER, NO_TESTER
    able = [day for day in problem.days if day.has(visit.skills)]
    if not able:
        return Cause.NO_SKILL, f"no tester on these days offers: {_missing(visit, problem.days)}"
    able = [day for day in able if day.key not in visit.barred]
    if not able:
        return Cause.FORBIDDEN, FORBIDDEN
    return _reason_among(visit, able=able, problem=problem)


def _reason_among(
    visit: Visit, *, able: Sequence[WorkingDay], problem: Problem
) -> tuple[Cause, str]:
    able = [day for day in able if day.may_take(visit)]
    if not able:
        return Cause.NO_ROOM, _too_large(visit)
    if not _meets(visit.open_windows(), able):
        if _meets(visit.windows or (Window(0, visit.not_before),), able):
            return Cause.NOTICE, "notice too short: the days of notice it needs outlast the plan"
        return (
            Cause.NO_WINDOW,
            "its open hours meet no tester's working hours on these days: ask for other hours",
        )
    if not any(fits_alone(visit, day=day, problem=problem) for day in able):
        return Cause.TOO_LONG, _too_long(visit, able=able, problem=problem)
    if visit.people > 1:
        return Cause.TWO_PEOPLE, _needs_two(visit)
    return (
        Cause.NOT_ENOUGH_HOURS,
        "not enough hours: more urgent visits fill the days; more days or testers would help",
    )


def _too_large(visit: Visit) -> str:
    places = f"{visit.space} {'place' if visit.space == 1 else 'places'}"
    return f"no room in the van: its parts take {places}, and nobody who may come has so many"


def _needs_two(visit: Visit) -> str:
    asks = f" with {' and '.join(sorted(visit.skills))}" if visit.skills else ""
    return f"it needs two people at once{asks}, and no two are free together within its hours"


def _missing(visit: Visit, days: Sequence[WorkingDay]) -> str:
    """What nobody has at all; when each skill is somewhere, all of them (nobody has both)."""
    nowhere = visit.skills.difference(*(day.skills for day in days))
    return ", ".join(sorted(nowhere or visit.skills))


def _meets(windows: Sequence[Window], days: Sequence[WorkingDay]) -> bool:
    return any(
        max(window.opens, day.starts) <= min(window.closes, day.ends)
        for window in windows
        for day in days
    )


def _too_long(visit: Visit, *, able: Sequence[WorkingDay], problem: Problem) -> str:
    left = max(_minutes_left(visit, day=day, problem=problem) for day in able)
    return (
        f"too long for one day: it needs {spoken(visit.service_minutes)}, and the drive there and "
        f"back and its open hours leave {spoken(max(left, 0))}; longer hours, a nearer tester or "
        "two visits would help"
    )


def _minutes_left(visit: Visit, *, day: WorkingDay, problem: Problem) -> int:
    """The longest stay that one window of one day allows, drives outside the window."""
    assert visit.place is not None
    there = day.starts + problem.travel.between(day.depot, visit.place)
    back = day.ends - problem.travel.between(visit.place, day.depot)
    stays = [min(window.closes, back) - max(window.opens, there) for window in visit.open_windows()]
    longest = day.ends if day.longest_minutes is None else day.longest_minutes
    drives = there - day.starts + day.ends - back
    return min(max(stays, default=0), longest - drives)


def spoken(minutes: int) -> str:
    """Minutes as people say them: 190 is "3 h 10", 45 is "45 min"."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02}" if rest else f"{hours} h"
