"""Where one more visit would fit into days that are planned already, and what it would cost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.plans import Stop
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.visits import Visit, WorkingDay


@dataclass(frozen=True, slots=True)
class Slot:
    """One place for a visit: on that day from ``arrive`` to ``leave``, minutes of the plan's axis.

    ``extra_minutes`` is the driving it adds. ``later`` names the visits of the day that would
    begin at another time than before; a promised one is never among them.
    """

    day: WorkingDay
    position: int
    extra_minutes: int
    arrive: int
    leave: int
    later: tuple[str, ...]


def best_slots(visit: Visit, *, draft: Draft, most: int = 5) -> list[Slot]:
    """The places that add the least driving, at most one per tester and day, cheapest first.

    Equal ones by day, then tester. Empty when the visit fits nowhere: ``why_left_out`` says why.
    """
    found = sorted(
        _slots(visit, draft=draft),
        key=lambda slot: (slot.extra_minutes, slot.day.day, slot.arrive, slot.day.tester),
    )
    return found[:most]


def _slots(visit: Visit, *, draft: Draft) -> Iterator[Slot]:
    for day in draft.problem.days:
        place = draft.place_on(visit, day)
        if place is None:
            continue
        order = draft.orders.get(day.key, [])
        longer = [*order[: place.position], visit, *order[place.position :]]
        stops = timed(longer, day=day, travel=draft.problem.travel)
        assert stops is not None
        mine = stops[place.position]
        yield Slot(
            day=day,
            position=place.position,
            extra_minutes=place.extra_minutes,
            arrive=mine.arrive,
            leave=mine.leave,
            later=_moved(draft.stops(day), stops),
        )


def _moved(before: tuple[Stop, ...], after: tuple[Stop, ...]) -> tuple[str, ...]:
    was = {stop.visit: stop.arrive for stop in before}
    return tuple(s.visit for s in after if s.visit in was and was[s.visit] != s.arrive)
