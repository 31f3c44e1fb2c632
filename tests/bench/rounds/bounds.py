"""What no plan can beat: an assignment in parts of visits to days, solved exactly as an LP.

Each visit costs its minutes and half the way from and to its nearest neighbours, which any order
pays at least; each day gives its minutes less lunch. Windows count only by the days they allow. So
the bound is loose: whole orders, the hours within a day and waiting are left away.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import lil_matrix

from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay


def most_points(problem: Problem) -> float:
    """Points that no plan of these days exceeds; promised visits count as all others."""
    visits = [one for one in problem.visits if one.place is not None]
    pairs = [
        (i, j)
        for i, visit in enumerate(visits)
        for j, day in enumerate(problem.days)
        if _can(visit, day)
    ]
    costs = _least_minutes(problem, visits)
    rows = lil_matrix((len(visits) + len(problem.days), len(pairs)))
    for column, (i, j) in enumerate(pairs):
        rows[i, column] = 1
        rows[len(visits) + j, column] = costs[i]
    limits = [1.0] * len(visits) + [_free_minutes(day) for day in problem.days]
    worth = np.array([-visits[i].priority for i, _j in pairs], dtype=float)
    found = linprog(worth, A_ub=rows.tocsr(), b_ub=limits, bounds=(0, 1), method="highs")
    if found.status != 0:
        raise RuntimeError(found.message)
    return float(-found.fun)


def _can(visit: Visit, day: WorkingDay) -> bool:
    if not day.may_take(visit):
        return False
    if visit.promise is not None:
        return day.starts <= visit.promise.arrive <= day.ends
    return any(
        window.opens < day.ends and window.closes > day.starts for window in visit.open_windows()
    )


def _free_minutes(day: WorkingDay) -> float:
    return day.ends - day.starts - (day.lunch.minutes if day.lunch else 0)


def _least_minutes(problem: Problem, visits: list[Visit]) -> list[float]:
    """Its service, and half of the two quickest ways between it and any other place."""
    places = sorted(
        {one.place for one in visits if one.place is not None} | {day.depot for day in problem.days}
    )
    found = []
    for visit in visits:
        assert visit.place is not None
        ways = sorted(
            problem.travel.between(visit.place, other) for other in places if other != visit.place
        )
        found.append(visit.service_minutes + sum(ways[:2]) / 2)
    return found
