"""Our own eyes on every plan: each broken rule is found from the plan alone and told in words.

It shares no code with what makes plans, so that a fault there cannot hide here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise

from scheduling.domain.rounds.plans import Plan, Round, Stop
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay, second_key


class Rule(StrEnum):
    """What a plan may break."""

    UNKNOWN_VISIT = "unknown visit"
    UNKNOWN_DAY = "unknown tester's day"
    DAY_TWICE = "day twice"
    VISIT_TWICE = "visit twice"
    UNACCOUNTED = "unaccounted visit"
    REQUIRED = "required visit left out"
    NO_COORDINATES = "no coordinates"
    PLACE = "wrong place"
    SERVICE = "service time"
    TRAVEL = "travel time"
    HOURS = "working hours"
    LONGEST_DAY = "longest day"
    LUNCH = "lunch"
    WINDOW = "window"
    NOTICE = "notice"
    SKILL = "skill"
    FORBIDDEN = "forbidden"
    TWO_PEOPLE = "two people"
    MOST_VISITS = "most visits"
    ROOM = "room in the van"
    PROMISE = "promise"


APART = "they are not there together"
"""What is told of two people at one visit whose times or places differ."""


@dataclass(frozen=True, slots=True)
class Violation:
    """One broken rule: which, in a sentence, and where."""

    rule: Rule
    words: str
    visit: str | None = None
    tester: str | None = None
    day: date | None = None


def violations(plan: Plan, *, problem: Problem) -> tuple[Violation, ...]:
    """Every rule the plan breaks; empty for a plan that may be shown as good."""
    each = (found for one in plan.rounds for found in _round(one, problem))
    return (*_books(plan, problem), *each, *_together(plan, problem))


def _books(plan: Plan, problem: Problem) -> Iterator[Violation]:
    """Every visit exactly once, planned or left out; every day at most once."""
    for key, count in Counter(planned.key for planned in plan.rounds).items():
        if count > 1:
            words = f"{key[0]} has {count} rounds on {key[1]}"
            yield Violation(Rule.DAY_TWICE, words, tester=key[0], day=key[1])
    planned = [stop.visit for one in plan.rounds for stop in one.stops]
    told = Counter(planned) + Counter(left.visit for left in plan.left_out)
    for visit, count in told.items():
        if problem.asked_for(visit) is None:
            yield Violation(Rule.UNKNOWN_VISIT, f"nobody asked for a visit {visit}", visit=visit)
        elif count > 1:
            yield Violation(Rule.VISIT_TWICE, f"{visit} is told {count} times", visit=visit)
    for one in problem.visits:
        yield from _accounted(one, told=told, planned=set(planned))


def _accounted(visit: Visit, *, told: Counter[str], planned: set[str]) -> Iterator[Violation]:
    if visit.key not in told:
        words = f"{visit.key} is neither planned nor left out with a reason"
        yield Violation(Rule.UNACCOUNTED, words, visit=visit.key)
    if visit.key in planned:
        return
    if visit.promise is not None:
        words = f"{visit.key} was promised to {visit.promise.tester} and is in no round"
        yield Violation(Rule.PROMISE, words, visit=visit.key)
    elif visit.required:
        yield Violation(Rule.REQUIRED, f"{visit.key} must be visited", visit=visit.key)


def _round(planned: Round, problem: Problem) -> Iterator[Violation]:
    day = problem.day_by_key.get(planned.key)
    if day is None:
        words = f"{planned.tester} does not work on {planned.day}"
        yield Violation(Rule.UNKNOWN_DAY, words, tester=planned.tester, day=planned.day)
        return
    asked = [(stop, problem.asked_for(stop.visit)) for stop in planned.stops]
    stops = [stop for stop, visit in asked if visit is not None]
    for stop, visit in asked:
        if visit is not None:
            yield from _stop(stop, visit, day)
    if planned.depot != day.depot:
        yield _of(day, Rule.PLACE, "the round starts at another depot than the tester's")
    count = sum(visit.counts for _stop, visit in asked if visit is not None)
    if day.most_visits is not None and count > day.most_visits:
        words = f"{count} visits, the tester takes {day.most_visits} a day"
        yield _of(day, Rule.MOST_VISITS, words)
    # A second person's presence brings nothing: the parts are in the first one's van.
    space = sum(one.space for stop, one in asked if one is not None and stop.visit == one.key)
    if day.places is not None and space > day.places:
        words = f"parts for these visits take {space} places, the van has {day.places}"
        yield _of(day, Rule.ROOM, words)
    if stops:
        yield from _order(stops, day=day, problem=problem)
        yield from _hours(stops, day=day, problem=problem)
        yield from _lunch(stops, day=day, problem=problem)


def _stop(stop: Stop, visit: Visit, day: WorkingDay) -> Iterator[Violation]:
    if visit.place is None:
        yield _of(day, Rule.NO_COORDINATES, f"nobody knows where {visit.key} is", visit)
    elif stop.place != visit.place:
        yield _of(day, Rule.PLACE, f"{visit.key} is planned at another place", visit)
    stay = stop.leave - stop.arrive
    if stay < visit.service_minutes:
        words = f"{visit.key} needs {visit.service_minutes} min and gets {stay}"
        yield _of(day, Rule.SERVICE, words, visit)
    if missing := visit.skills - day.skills:
        yield _of(day, Rule.SKILL, f"{visit.key} asks for: {', '.join(sorted(missing))}", visit)
    if day.key in visit.barred:
        yield _of(day, Rule.FORBIDDEN, f"{visit.key} asked not to have {day.tester} then", visit)
    yield from _times(stop, visit, day)


def _times(stop: Stop, visit: Visit, day: WorkingDay) -> Iterator[Violation]:
    promise = visit.promise if stop.visit == visit.key else visit.second_promise
    if promise is not None:
        told = (promise.tester, promise.arrive, promise.leave)
        if (day.tester, stop.arrive, stop.leave) != told:
            words = f"{visit.key} was promised {_span(*told[1:])} with {told[0]}"
            yield _of(day, Rule.PROMISE, words, visit)
        return  # what was promised was agreed, whatever the usual windows
    if visit.promise is not None:
        return  # a second person comes to the promised time; another rule looks whether it is
    if stop.arrive < visit.not_before:
        short = visit.not_before - stop.arrive
        yield _of(day, Rule.NOTICE, f"{visit.key} is {short} min before its notice ends", visit)
    if visit.windows and not any(
        window.opens <= stop.arrive and stop.leave <= window.closes for window in visit.windows
    ):
        words = f"{visit.key} at {_span(stop.arrive, stop.leave)} is outside its open hours"
        yield _of(day, Rule.WINDOW, words, visit)


def _order(stops: Sequence[Stop], *, day: WorkingDay, problem: Problem) -> Iterator[Violation]:
    for before, after in pairwise(stops):
        needed = problem.travel.between(before.place, after.place)
        given = after.arrive - before.leave
        if given < needed:
            words = f"from {before.visit} to {after.visit} takes {needed} min, planned are {given}"
            yield _of(day, Rule.TRAVEL, words, problem.asked_for(after.visit))


def _hours(stops: Sequence[Stop], *, day: WorkingDay, problem: Problem) -> Iterator[Violation]:
    leaves = stops[0].arrive - problem.travel.between(day.depot, stops[0].place)
    home = stops[-1].leave + problem.travel.between(stops[-1].place, day.depot)
    if leaves < day.starts:
        yield _of(day, Rule.HOURS, f"must leave {day.starts - leaves} min before the day begins")
    if home > day.ends:
        yield _of(day, Rule.HOURS, f"is back {home - day.ends} min after the day ends")
    if day.longest_minutes is not None and home - leaves > day.longest_minutes:
        words = f"is out {home - leaves} min, the longest day is {day.longest_minutes}"
        yield _of(day, Rule.LONGEST_DAY, words)


def _lunch(stops: Sequence[Stop], *, day: WorkingDay, problem: Problem) -> Iterator[Violation]:
    if day.lunch is None:
        return
    travel = problem.travel
    free = [(day.starts, stops[0].arrive - travel.between(day.depot, stops[0].place))]
    for before, after in pairwise(stops):
        drive = travel.between(before.place, after.place)
        free.append((before.leave, after.arrive - drive))  # eaten before the drive
        free.append((before.leave + drive, after.arrive))  # or after it
    free.append((stops[-1].leave + travel.between(stops[-1].place, day.depot), day.ends))
    free.append((stops[-1].leave, day.ends - travel.between(stops[-1].place, day.depot)))
    window = day.lunch.window
    spans = [min(until, window.closes) - max(since, window.opens) for since, until in free]
    if max(spans) < day.lunch.minutes:
        words = f"no {day.lunch.minutes} min for lunch at {_span(window.opens, window.closes)}"
        yield _of(day, Rule.LUNCH, words)


def _together(plan: Plan, problem: Problem) -> Iterator[Violation]:
    """Where two people are asked for, two testers stand at one place for the same minutes."""
    at = {stop.visit: (one, stop) for one in plan.rounds for stop in one.stops}
    for visit in problem.visits:
        here = [at[key] for key in (visit.key, second_key(visit.key)) if key in at]
        if visit.people < 2 or not here:
            continue
        if len(here) < 2:
            words = f"{visit.key} takes two people at once, and one is planned"
        elif len({one.tester for one, _stop in here}) < 2:
            words = f"{visit.key} takes two people at once, and one tester is planned as both"
        elif len({_team(one, problem) for one, _stop in here}) > 1:
            words = f"{visit.key} takes two people at once, of one testing company"
        elif len({(stop.place, stop.arrive, stop.leave) for _one, stop in here}) > 1:
            words = f"{visit.key} takes two people at once, and {APART}"
        else:
            continue
        first = here[0][0]
        where = f"{first.tester} on {first.day}: {words}"
        yield Violation(Rule.TWO_PEOPLE, where, visit.key, first.tester, first.day)


def _team(planned: Round, problem: Problem) -> str:
    day = problem.day_by_key.get(planned.key)
    return "" if day is None else day.team


def _of(day: WorkingDay, rule: Rule, words: str, visit: Visit | None = None) -> Violation:
    where = f"{day.tester} on {day.day}: {words}"
    key = None if visit is None else visit.key
    return Violation(rule, where, visit=key, tester=day.tester, day=day.day)


def _span(arrive: int, leave: int) -> str:
    return f"{_clock(arrive)}-{_clock(leave)}"


def _clock(minute: int) -> str:
    """Day and time on the plan's axis; plain enough for a report without a time zone."""
    return f"day {minute // 1440 + 1} {minute % 1440 // 60:02}:{minute % 60:02}"
