"""Where one more visit fits: against every position of every day, worked out plainly."""

from __future__ import annotations

from itertools import pairwise

import pytest

from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.insertion import Draft, draft_of, plan_of
from scheduling.domain.rounds.slots import best_slots
from scheduling.domain.rounds.visits import Problem, Promise, Visit, Window, WorkingDay
from tests.domain.scheduling.rounds.towns import day, town, week


def planned(problem: Problem, keys: list[str]) -> Draft:
    """A draft of the named visits in that order on the problem's first day."""
    return Draft(
        problem=problem,
        orders={problem.days[0].key: [problem.visit_by_key[key] for key in keys]},
    )


def test_a_visit_on_the_way_adds_nothing_and_says_when() -> None:
    visits = [Visit(key=str(place), place=place, service_minutes=20) for place in (2, 6, 4)]
    draft = planned(week(visits, [day(), day(number=1)]), ["2", "6"])
    slots = best_slots(visits[2], draft=draft)
    # 08:00 + 20 min to place 2, 20 there, 20 to place 4; place 6 begins 20 min later.
    assert [(s.day.day.day, s.extra_minutes, s.arrive, s.later) for s in slots] == [
        (30, 0, 540, ("6",)),
        (1, 80, 480 + 1440 + 40, ()),
    ]


def test_a_promised_visit_is_never_moved() -> None:
    promised = Visit(key="P", place=4, service_minutes=20, promise=Promise("T-1", 560, 580))
    new = Visit(key="new", place=2, service_minutes=60)
    draft = planned(week([promised, new], [day()]), ["P"])
    (slot,) = best_slots(new, draft=draft)
    assert slot.later == ()
    assert (slot.position, slot.arrive) == (1, 600)  # only after it: before, 40 min are left


def test_a_visit_that_fits_nowhere_has_no_slot() -> None:
    new = Visit(key="new", place=2, service_minutes=60, windows=(Window(0, 100),))
    assert best_slots(new, draft=Draft(problem=week([new], [day()]))) == []


@pytest.mark.parametrize("seed", range(6))
def test_no_cheaper_place_exists_than_the_first_slot(seed: int) -> None:
    whole = town(seed, visits=24, testers=2, days=3)
    *others, new = whole.visits
    problem = Problem(visits=whole.visits, days=whole.days, travel=whole.travel)
    draft = draft_of(
        Problem(visits=tuple(others), days=whole.days, travel=whole.travel), required_only=False
    )
    draft = Draft(problem=problem, orders=draft.orders)
    costs = sorted(_costs(new, draft))
    slots = best_slots(new, draft=draft, most=99)
    assert [slot.extra_minutes for slot in slots] == [cost for cost, _ in costs]
    for slot in slots:
        taken = {key: list(order) for key, order in draft.orders.items()}
        taken.setdefault(slot.day.key, []).insert(slot.position, new)
        plan = plan_of(Draft(problem=problem, orders=taken), how="by hand")
        assert violations(plan, problem=problem) == ()
        (stop,) = [s for one in plan.rounds for s in one.stops if s.visit == new.key]
        assert (stop.arrive, stop.leave) == (slot.arrive, slot.leave)


def _costs(new: Visit, draft: Draft) -> list[tuple[int, str]]:
    """The least driving that each day asks for the visit, by driving every order through."""
    found = []
    for one in draft.problem.days:
        order = draft.orders.get(one.key, [])
        before = (_driven(order, one, draft.problem) or 0) if order else 0
        added = [
            driven - before
            for at in range(len(order) + 1)
            if (driven := _driven([*order[:at], new, *order[at:]], one, draft.problem)) is not None
        ]
        if added and new.skills <= one.skills:
            found.append((min(added), str(one.key)))
    return found


def _driven(order: list[Visit], one: WorkingDay, problem: Problem) -> int | None:
    """Minutes at the wheel, or None where a window or the day's end is missed."""
    clock, here = one.starts, one.depot
    for visit in order:
        assert visit.place is not None
        clock += problem.travel.between(here, visit.place)
        begins = [
            max(clock, w.opens)
            for w in sorted(visit.windows) or [Window(0, 10**7)]
            if max(clock, w.opens) + visit.service_minutes <= w.closes
        ]
        if not begins:
            return None
        clock, here = begins[0] + visit.service_minutes, visit.place
    if clock + problem.travel.between(here, one.depot) > one.ends:
        return None
    places = [one.depot, *(visit.place for visit in order), one.depot]
    return sum(problem.travel.between(a or 0, b or 0) for a, b in pairwise(places))


def test_two_people_are_offered_one_time_that_both_can_keep() -> None:
    # T-1 is busy until 10:00, T-2 from 11:10 on: free together for an hour.
    early = Visit(key="early", place=0, service_minutes=120, windows=(Window(480, 600),))
    late = Visit(key="late", place=0, service_minutes=320, windows=(Window(670, 990),))
    vault = Visit(key="V", place=1, service_minutes=40, people=2)
    days = [day("T-1"), day("T-2"), day("T-1", number=1)]
    problem = week([early, late, vault], days)
    draft = Draft(problem, {days[0].key: [early], days[1].key: [late]})
    (slot,) = best_slots(vault, draft=draft)
    assert slot.second is not None
    assert {slot.day.tester, slot.second.day.tester} == {"T-1", "T-2"}
    # The first quarter of an hour after 10:10; T-2 is back at the depot by 11:05.
    assert (slot.arrive, slot.leave) == (slot.second.arrive, slot.second.leave) == (615, 655)
    assert slot.extra_minutes == 40  # out and back, both


def test_two_people_who_are_never_free_together_are_offered_nothing() -> None:
    busy = Visit(key="busy", place=0, service_minutes=500, windows=(Window(480, 990),))
    vault = Visit(key="V", place=1, service_minutes=40, people=2)
    problem = week([busy, vault], [day("T-1"), day("T-2")])
    draft = Draft(problem, {problem.days[0].key: [busy]})
    assert best_slots(vault, draft=draft) == []
