"""Room in the van: small weeks with one answer, and published instances with loads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.helping import Help, HelpKind, helps_for
from scheduling.domain.rounds.insertion import draft_of, plan_of
from scheduling.domain.rounds.plans import Cause, Plan, Round, Stop
from scheduling.domain.rounds.slots import best_slots
from scheduling.domain.rounds.visits import Problem, Stay, Visit, WorkingDay, second_key
from scheduling.routing_model import RoutingModel
from scheduling.solver import BY_SOLVER, Effort, solve
from tests.domain.scheduling.rounds.towns import MONDAY, day, town, week
from tests.scheduling.test_solver import (
    BRIEF,
    INSTANCES,
    Distances,
    by_tester,
    driven,
    sections,
    solved,
)


def large(*keys: str, space: int = 1, place: int = 1) -> list[Visit]:
    return [Visit(key=key, place=place, service_minutes=30, space=space) for key in keys]


def van(tester: str = "T-1", *, places: int | None, number: int = 0) -> WorkingDay:
    return replace(day(tester, number=number), places=places)


def test_a_van_takes_no_more_than_it_has_places() -> None:
    visits = [*large("A", "B", "C", "D"), Visit(key="small", place=2, service_minutes=30)]
    found = solved(week(visits, [van(places=2), van("T-2", places=1)])).plan
    testers = by_tester(found)
    assert sorted(testers[key] for key in "ABCD" if key in testers) == ["T-1", "T-1", "T-2"]
    assert "small" in testers
    (left,) = found.left_out
    assert left.cause is Cause.NO_ROOM
    assert left.words.startswith("no room in the van: a tester has hours left")


def test_what_would_help_is_the_least_room_that_is_enough() -> None:
    visits = [replace(one, required=one.key == "A") for one in large("A", "B", space=2)]
    problem = week(visits, [van(places=3)])
    plan = solved(problem).plan
    assert helps_for(plan, problem=problem).found == {
        "B": Help(HelpKind.MORE_ROOM, "T-1", MONDAY, 1)
    }


def test_what_no_van_holds_says_how_many_places_it_takes() -> None:
    problem = week(large("A", space=4), [van(places=3), van("T-2", places=2)])
    plan = solved(problem).plan
    (left,) = plan.left_out
    assert left.cause is Cause.NO_ROOM
    assert "its parts take 4 places" in left.words
    assert helps_for(plan, problem=problem).found["A"] == Help(HelpKind.MORE_ROOM, "T-1", MONDAY, 1)


def test_a_full_day_is_not_blamed_on_the_van() -> None:
    visits = [Visit(key="long", place=0, service_minutes=500, required=True), *large("A")]
    (left,) = solved(week(visits, [van(places=1)])).plan.left_out
    assert left.cause is Cause.NOT_ENOUGH_HOURS


def test_a_van_without_a_number_has_room_for_everything() -> None:
    assert solved(week(large(*"ABCDEF", space=9), [van(places=None)])).plan.left_out == ()


def test_a_slot_on_the_telephone_is_offered_only_where_the_van_has_room() -> None:
    problem = week([*large("A"), *large("new")], [van(places=1), van(places=1, number=1)])
    draft = draft_of(replace(problem, visits=problem.visits[:1]), required_only=False)
    draft.problem = problem
    slots = best_slots(problem.visits[1], draft=draft)
    assert [slot.day.day for slot in slots] == [problem.days[1].day]


def test_a_smaller_van_moves_what_stood_there_and_keeps_the_rest() -> None:
    visits = [replace(one, stay=Stay("T-1", MONDAY, 10, 490)) for one in large("A", "B", "C")]
    problem = week(visits, [van(places=2), van(places=2, number=1)])
    plan = solved(problem).plan
    assert [len(one.stops) for one in plan.rounds] == [2, 1]


def test_of_two_people_the_first_brings_the_parts() -> None:
    able = ["confined space"]
    vault = Visit(key="V", place=5, service_minutes=60, people=2, skills=frozenset(able), space=2)
    days = [replace(day(name, skills=able), places=2) for name in ("T-1", "T-2")]
    plan = solved(week([vault], days)).plan
    assert {stop.visit for one in plan.rounds for stop in one.stops} == {"V", second_key("V")}
    small = [replace(one, places=1) for one in days]
    assert solved(week([vault], small)).plan.left_out[0].cause is Cause.NO_ROOM


def test_nothing_about_vans_is_told_to_the_engine_where_nothing_is_stated() -> None:
    problem = town(3, visits=20, testers=2, days=2)
    with_places = replace(problem, days=tuple(replace(one, places=5) for one in problem.days))
    for one in (problem, with_places):
        data = RoutingModel(one).data
        assert [client.delivery for client in data.clients()] == [[]] * data.num_clients
    effort = Effort(iterations=60, seed=1)
    assert solve(problem, effort=effort).plan == solve(with_places, effort=effort).plan


def test_room_visits_a_day_and_lunch_go_together() -> None:
    problem = town(5, visits=40, testers=2, days=2)
    visits = tuple(replace(one, space=number % 3) for number, one in enumerate(problem.visits))
    days = tuple(replace(one, places=4, most_visits=8) for one in problem.days)
    plan = solved(replace(problem, visits=visits, days=days), effort=BRIEF).plan
    space = {one.key: one.space for one in visits}
    carried = [sum(space[stop.visit] for stop in one.stops) for one in plan.rounds]
    assert max(carried) == 4
    assert {left.cause for left in plan.left_out} >= {Cause.NO_ROOM}


# Published instances with loads; see fixtures/instances/SOURCES.md.


def with_loads(name: str, *, vans: int) -> Problem:
    """An instance of CVRPLIB: places are units of load, distances rounded to the nearest."""
    read = sections(name)
    points = [(x, y) for _number, x, y in read["NODE_COORD_SECTION"]]
    table = [[int(math.dist(a, b) + 0.5) for b in points] for a in points]
    places = capacity(name)
    visits = tuple(
        Visit(
            key=str(int(number)),
            place=int(number) - 1,
            service_minutes=0,
            required=True,
            space=int(space),
        )
        for number, space in read["DEMAND_SECTION"][1:]
    )
    days = tuple(
        WorkingDay(f"T-{number}", MONDAY, 0, 10**6, depot=0, places=places)
        for number in range(1, vans + 1)
    )
    return Problem(visits=visits, days=days, travel=Distances(table))


def capacity(name: str) -> int:
    """The load that a vehicle of the instance takes."""
    lines = (INSTANCES / name).read_text().splitlines()
    return int(next(one for one in lines if one.startswith("CAPACITY")).split(":")[1])


def published(path: Path, problem: Problem) -> Plan:
    """A published solution as a plan of ours: each of its routes for a tester, driven at once."""
    rounds = []
    lines = [one for one in path.read_text().splitlines() if one.startswith("Route")]
    for day_of, line in zip(problem.days, lines, strict=False):
        keys = line.split(":")[1].split()
        rounds.append(Round(day_of.tester, MONDAY, 0, tuple(_driven(keys, problem))))
    return Plan(tuple(rounds), (), "published")


def _driven(keys: Sequence[str], problem: Problem) -> list[Stop]:
    clock, here, stops = 0, 0, []
    for key in keys:
        place = problem.visit_by_key[key].place
        assert place is not None
        clock += problem.travel.between(here, place)
        stops.append(Stop(key, place, clock, clock))
        here = place
    return stops


def test_the_best_known_plan_of_x_n101_k25_passes_our_checker_at_its_published_cost() -> None:
    problem = with_loads("x-n101-k25.vrp", vans=26)
    plan = published(INSTANCES / "x-n101-k25.sol", problem)
    assert violations(plan, problem=problem) == ()
    assert driven(plan, problem) == 27_591
    # Its fullest van is full: one place less and the checker says so.
    smaller = replace(problem, days=tuple(replace(one, places=205) for one in problem.days))
    assert violations(plan, problem=smaller) != ()


@pytest.mark.parametrize("seed", [1, 2])
def test_e_n22_k4_is_solved_to_its_optimum(seed: int) -> None:
    # "Optimal value: 375", says the file (Christofides and Eilon 1969); four vehicles.
    problem = with_loads("e-n22-k4.vrp", vans=4)
    found = solved(problem, effort=Effort(iterations=400, seed=seed))
    assert found.plan.how == BY_SOLVER
    assert len(by_tester(found.plan)) == 21
    assert driven(found.plan, problem) == 375


def test_x_n101_k25_is_solved_to_within_one_percent_of_the_best_known() -> None:
    problem = with_loads("x-n101-k25.vrp", vans=30)
    found = solved(problem, effort=Effort(iterations=1500, seed=2))
    assert found.plan.how == BY_SOLVER
    assert len(by_tester(found.plan)) == 100
    assert 27_591 <= driven(found.plan, problem) <= 27_591 * 1.01


def test_plain_insertion_keeps_to_the_room_too() -> None:
    problem = with_loads("e-n22-k4.vrp", vans=6)
    plan = plan_of(draft_of(problem, required_only=False), how="insertion")
    assert violations(plan, problem=problem) == ()
