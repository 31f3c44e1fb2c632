"""Testers' busy hours taken out of their days: a day begins later, ends sooner, or has a gap.

A gap is a fixed time at the depot, so that the drive there and back is reckoned with: where a
tester really is then, is nobody's business here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from reports.rounds.elsewhere import ELSEWHERE, is_elsewhere
from reports.rounds.week import Horizon, Week
from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.visits import Problem, Promise, Visit, WorkingDay

Spans = Mapping[int, Sequence[tuple[datetime, datetime]]]


def with_busy(week: Week, spans: Spans, *, horizon: Horizon) -> tuple[Week, list[Visit]]:
    """The week without the busy hours, and the gaps in it as fixed visits.

    What was promised to customers stands: a gap that a promise or another program's visit leaves no
    room for is left away, and the day's page says what the promise breaks.
    """
    if not spans:
        return week, []
    days: list[WorkingDay] = []
    gaps: list[Visit] = []
    for day in week.problem.days:
        shorter, inside = _cut(day, _minutes(spans.get(int(day.tester), ()), horizon=horizon))
        days.append(shorter)
        gaps += _gaps(day, inside)
    problem = replace(week.problem, days=tuple(days))
    kept = _possible(problem, gaps)
    problem = Problem((*problem.visits, *kept), problem.days, problem.travel)
    return replace(week, problem=problem), kept


def _minutes(
    spans: Sequence[tuple[datetime, datetime]], *, horizon: Horizon
) -> list[tuple[int, int]]:
    """On the axis of the plan; a begun minute counts whole."""
    last = timedelta(minutes=1) - timedelta(microseconds=1)
    return [
        (horizon.axis.minute_at(starts), horizon.axis.minute_at(ends + last))
        for starts, ends in spans
    ]


def _cut(
    day: WorkingDay, spans: Sequence[tuple[int, int]]
) -> tuple[WorkingDay, list[tuple[int, int]]]:
    """The day as far as it is free, and the stretches within it; none of it free: no minutes."""
    starts, ends = day.starts, day.ends
    inside: list[tuple[int, int]] = []
    for begins, over in sorted(spans):
        if over <= starts or begins >= ends:
            continue
        if begins <= starts:
            starts = over
        elif over >= ends:
            ends = begins
        elif inside and begins <= inside[-1][1]:
            inside[-1] = (inside[-1][0], max(over, inside[-1][1]))
        else:
            inside.append((begins, over))
    if starts >= ends:
        return replace(day, ends=day.starts, lunch=None), []
    lunch = day.lunch
    if lunch is not None:
        room = min(lunch.window.closes, ends) - max(lunch.window.opens, starts)
        lunch = lunch if room >= lunch.minutes else None
    shorter = replace(day, starts=starts, ends=ends, lunch=lunch)
    return shorter, [(a, b) for a, b in inside if a < ends and b > starts]


def _gaps(day: WorkingDay, inside: Sequence[tuple[int, int]]) -> list[Visit]:
    return [
        Visit(
            key=f"{ELSEWHERE}-busy-{day.tester}-{begins}",
            place=day.depot,
            service_minutes=over - begins,
            promise=Promise(day.tester, begins, over),
            counts=False,
        )
        for begins, over in inside
    ]


def _possible(problem: Problem, gaps: Sequence[Visit]) -> list[Visit]:
    """The gaps that the fixed visits of these days leave room for, promises first."""
    fixed = [one for one in problem.visits if one.promise is not None or is_elsewhere(one.key)]
    whole = Problem((*fixed, *gaps), problem.days, problem.travel)
    draft = Draft(problem=whole)
    for visit in fixed:
        draft.put(visit)
    return [gap for gap in gaps if draft.put(gap)]
