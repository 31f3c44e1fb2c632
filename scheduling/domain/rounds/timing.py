"""When each visit of an order begins: as early as windows, travel and lunch allow.

Starting every visit as early as possible is never worse, whatever the windows, because
arriving earlier never makes a later visit later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from scheduling.domain.rounds.plans import Stop
from scheduling.domain.rounds.visits import Problem, Travel, Visit, Window, WorkingDay


def earliest_start(visit: Visit, *, ready: int) -> int | None:
    """First minute from ``ready`` at which the whole visit fits a window; None when too late."""
    if visit.promise is not None:
        return visit.promise.arrive if ready <= visit.promise.arrive else None
    for window in visit.open_windows():
        start = max(ready, window.opens)
        if start + visit.service_minutes <= window.closes:
            return start
    return None


@dataclass(frozen=True, slots=True)
class Schedule:
    """The stops of a day, and how many of them are before its lunch."""

    stops: tuple[Stop, ...]
    stops_before_lunch: int = 0


def timed(visits: Sequence[Visit], *, day: WorkingDay, travel: Travel) -> tuple[Stop, ...] | None:
    """The stops of this order on this day, or None when it cannot be driven and served.

    Looks at windows, notice, promises' times, hours, longest day and lunch; not at skills.
    """
    schedule = scheduled(visits, day=day, travel=travel)
    return None if schedule is None else schedule.stops


def scheduled(visits: Sequence[Visit], *, day: WorkingDay, travel: Travel) -> Schedule | None:
    """As ``timed``, with the lunch where it falls: as late in the order as its window allows."""
    if day.lunch is None or not visits:
        stops = _timed_with_pause(visits, day=day, travel=travel, pause_before=None)
        return None if stops is None else Schedule(stops)
    # The pause is tried late first: before the way home, then before each earlier drive.
    for pause_before in range(len(visits), -1, -1):
        stops = _timed_with_pause(visits, day=day, travel=travel, pause_before=pause_before)
        if stops is not None:
            return Schedule(stops, pause_before)
    return None


def lunch_between(stops: Sequence[Stop], *, day: WorkingDay, travel: Travel) -> Window | None:
    """When lunch is eaten on a day as it is driven: in the last gap that holds it.

    None without a lunch, without room for it, and where the round is over before its window opens.
    """
    if day.lunch is None or not stops:
        return None
    window, minutes = day.lunch.window, day.lunch.minutes
    gaps = [(day.starts, stops[0].arrive - travel.between(day.depot, stops[0].place))]
    for before, after in pairwise(stops):
        gaps.append((before.leave, after.arrive - travel.between(before.place, after.place)))
    last = stops[-1].leave
    if last >= window.opens:
        gaps.append((last, day.ends - travel.between(stops[-1].place, day.depot)))
    begins = [max(since, window.opens) for since, _until in gaps]
    fitting = [
        Window(begin, begin + minutes)
        for begin, (_since, until) in zip(begins, gaps, strict=True)
        if begin + minutes <= min(until, window.closes)
    ]
    return fitting[-1] if fitting else None


def fits_alone(visit: Visit, *, day: WorkingDay, problem: Problem) -> bool:
    """True when the visit could be the only one of that tester's day."""
    return visit.place is not None and (timed([visit], day=day, travel=problem.travel) is not None)


def drivable_part(visits: Sequence[Visit], *, day: WorkingDay, travel: Travel) -> list[Visit]:
    """The order without its least urgent visits, as few as it takes to be drivable."""
    kept = list(visits)
    while kept and (not day.takes(kept) or timed(kept, day=day, travel=travel) is None):
        kept.remove(min(kept, key=lambda visit: (visit.must_be_planned, visit.priority, visit.key)))
    return kept


def _timed_with_pause(
    visits: Sequence[Visit], *, day: WorkingDay, travel: Travel, pause_before: int | None
) -> tuple[Stop, ...] | None:
    stops: list[Stop] = []
    here, clock = day.depot, day.starts
    for index, visit in enumerate(visits):
        if index == pause_before and (clock := _after_pause(day, clock)) < 0:
            return None
        if visit.place is None:
            return None
        start = earliest_start(visit, ready=clock + travel.between(here, visit.place))
        if start is None:
            return None
        here, clock = visit.place, start + visit.service_minutes
        if clock + travel.between(here, day.depot) > day.ends:
            return None
        stops.append(Stop(visit=visit.key, place=visit.place, arrive=start, leave=clock))
    if pause_before == len(visits) and (clock := _after_pause(day, clock)) < 0:
        return None
    home = clock + travel.between(here, day.depot)
    return tuple(stops) if _within(day, stops, home=home, travel=travel) else None


def _after_pause(day: WorkingDay, clock: int) -> int:
    """The minute after the lunch taken from ``clock`` on, or -1 when its window is over."""
    assert day.lunch is not None
    window: Window = day.lunch.window
    over = max(clock, window.opens) + day.lunch.minutes
    return over if over <= window.closes else -1


def _within(day: WorkingDay, stops: Sequence[Stop], *, home: int, travel: Travel) -> bool:
    if home > day.ends:
        return False
    if day.longest_minutes is None or not stops:
        return True
    leaves_depot = stops[0].arrive - travel.between(day.depot, stops[0].place)
    return home - leaves_depot <= day.longest_minutes
