"""From when to when a visit may begin, in the routing engine's terms."""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.domain.rounds.visits import Visit, Window, WorkingDay


def start_spans(visit: Visit, *, able: Sequence[WorkingDay]) -> list[tuple[int, int]]:
    """First and last minute at which the visit may begin, one pair per window that counts.

    Windows between which nobody able works are one: five whole working days need no five.
    """
    if visit.promise is not None:
        return [(visit.promise.arrive, visit.promise.arrive)]
    joined: list[Window] = []
    for window in visit.open_windows():
        if not any(_overlap(day, window.opens, window.closes) for day in able):
            continue
        if joined and not any(_overlap(day, joined[-1].closes, window.opens) for day in able):
            joined.append(Window(joined.pop().opens, window.closes))
        else:
            joined.append(window)
    spans = ((window.opens, window.closes - visit.service_minutes) for window in joined)
    return [(early, late) for early, late in spans if early <= late]


def _overlap(day: WorkingDay, since: int, until: int) -> bool:
    return since < day.ends and until > day.starts
