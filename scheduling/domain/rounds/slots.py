"""Where one more visit would fit into days that are planned already, and what it would cost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.pairs import Together, chances, together
from scheduling.domain.rounds.plans import Stop
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.visits import Visit, WorkingDay


@dataclass(frozen=True, slots=True)
class Slot:
    """One place for a visit: on that day from ``arrive`` to ``leave``, minutes of the plan's axis.

    ``extra_minutes`` is the driving it adds. ``later`` names the visits of the day that would
    begin at another time than before; a promised one is never among them. Where two people come,
    ``second`` is the other's place, and ``extra_minutes`` and ``later`` tell of both days.
    """

    day: WorkingDay
    position: int
    extra_minutes: int
    arrive: int
    leave: int
    later: tuple[str, ...]
    second: Slot | None = None


def best_slots(
    visit: Visit, *, draft: Draft, most: int = 5, soonest_first: bool = False
) -> list[Slot]:
    """The places that add the least driving, at most one per tester and day, cheapest first.

    Equal ones by day, then tester; with ``soonest_first`` by day before all else. For a visit of
    two people at most one for each two and date.
    Empty when the visit fits nowhere: ``why_left_out`` says why.
    """
    found = sorted(
        _pair_slots(visit, draft=draft) if visit.people > 1 else _slots(visit, draft=draft),
        key=lambda slot: (
            slot.day.day if soonest_first else date.min,
            slot.extra_minutes,
            slot.day.day,
            slot.arrive,
            slot.day.tester,
        ),
    )
    return found[:most]


def _slots(visit: Visit, *, draft: Draft) -> Iterator[Slot]:
    for day in draft.problem.days:
        slot = _slot(visit, day=day, draft=draft)
        if slot is not None:
            yield slot


def _slot(visit: Visit, *, day: WorkingDay, draft: Draft) -> Slot | None:
    place = draft.place_on(visit, day)
    if place is None:
        return None
    order = draft.orders.get(day.key, [])
    longer = [*order[: place.position], visit, *order[place.position :]]
    stops = timed(longer, day=day, travel=draft.problem.travel)
    assert stops is not None
    mine = stops[place.position]
    return Slot(
        day=day,
        position=place.position,
        extra_minutes=place.extra_minutes,
        arrive=mine.arrive,
        leave=mine.leave,
        later=_moved(draft.stops(day), stops),
    )


def _pair_slots(visit: Visit, *, draft: Draft) -> Iterator[Slot]:
    best: dict[frozenset[object], Together] = {}
    for one in chances(visit, draft=draft):
        two = frozenset([one.first.key, one.second.key])
        if two not in best or one.extra_minutes < best[two].extra_minutes:
            best[two] = one
    for one in best.values():
        both = together(visit, one.first.tester, one.second.tester, arrive=one.arrive)
        first = _slot(both[0], day=one.first, draft=draft)
        second = _slot(both[1], day=one.second, draft=draft)
        assert first is not None
        assert second is not None
        yield replace(
            first,
            extra_minutes=first.extra_minutes + second.extra_minutes,
            later=(*first.later, *second.later),
            second=second,
        )


def _moved(before: tuple[Stop, ...], after: tuple[Stop, ...]) -> tuple[str, ...]:
    was = {stop.visit: stop.arrive for stop in before}
    return tuple(s.visit for s in after if s.visit in was and was[s.visit] != s.arrive)
