"""The routing engine through our own door: small cases with one answer, published instances."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import pytest

from scheduling import solver
from scheduling.domain.rounds.checking import Rule, violations
from scheduling.domain.rounds.helping import Help, HelpKind, helps_for
from scheduling.domain.rounds.insertion import draft_of, plan_of
from scheduling.domain.rounds.parts import parts_of
from scheduling.domain.rounds.plans import Cause, Plan, Round, Stop, drive_minutes
from scheduling.domain.rounds.visits import (
    Lunch,
    Problem,
    Promise,
    Visit,
    Window,
    WorkingDay,
    second_key,
)
from scheduling.routing_spans import start_spans
from scheduling.solver import Effort, Solved, solve
from tests.domain.scheduling.rounds.towns import MONDAY, day, town, week

INSTANCES = Path(__file__).parents[2] / "fixtures" / "instances"
BRIEF = Effort(iterations=200, seed=1)


@dataclass(frozen=True)
class Distances:
    """Travel between points of a plane, by a table."""

    table: Sequence[Sequence[int]]
    how: str = "a plane"

    def between(self, origin: int, target: int) -> int:
        return self.table[origin][target]


def solved(problem: Problem, *, effort: Effort = BRIEF) -> Solved:
    found = solve(problem, effort=effort)
    assert found.violations == ()
    assert found.notes == ()
    return found


def driven(plan: Plan, problem: Problem) -> int:
    return sum(drive_minutes(one, travel=problem.travel) for one in plan.rounds)


def by_tester(plan: Plan) -> dict[str, str]:
    return {stop.visit: one.tester for one in plan.rounds for stop in one.stops}


def test_visits_on_a_road_are_driven_out_and_back_once() -> None:
    visits = [Visit(key=str(place), place=place, service_minutes=20) for place in (5, 2, 8, 4)]
    problem = week(visits, [day()])
    found = solved(problem)
    assert found.plan.how == solver.BY_SOLVER
    assert driven(found.plan, problem) == 160


def test_each_side_of_town_goes_to_the_tester_who_lives_there() -> None:
    visits = [Visit(key=str(place), place=place, service_minutes=60) for place in (1, 2, 18, 19)]
    problem = week(visits, [day("T-1", depot=0), day("T-2", depot=20)])
    assert by_tester(solved(problem).plan) == {"1": "T-1", "2": "T-1", "18": "T-2", "19": "T-2"}


def test_windows_decide_the_order() -> None:
    visits = [
        Visit(key="far, early", place=6, service_minutes=30, windows=(Window(540, 600),)),
        Visit(key="near, late", place=1, service_minutes=30, windows=(Window(840, 900),)),
    ]
    (planned,) = solved(week(visits, [day()])).plan.rounds
    assert [(stop.visit, stop.arrive) for stop in planned.stops] == [
        ("far, early", 540),
        ("near, late", 840),
    ]


def test_of_several_windows_one_is_used() -> None:
    windows = (Window(480, 500), Window(600, 640), Window(2000, 2040))
    visit = Visit(key="A", place=3, service_minutes=40, windows=windows)
    days = [day(), day(number=1)]
    (planned,) = solved(week([visit], days)).plan.rounds
    assert planned.stops[0].arrive in (600, 2000)


def test_two_visits_at_one_place_with_different_skills_go_to_two_people() -> None:
    visits = [
        Visit(key="fire", place=2, service_minutes=30, skills=frozenset(["fire lines"])),
        Visit(key="vault", place=2, service_minutes=30, skills=frozenset(["confined space"])),
    ]
    days = [day("T-1", skills=["fire lines"]), day("T-2", skills=["confined space"])]
    assert by_tester(solved(week(visits, days)).plan) == {"fire": "T-1", "vault": "T-2"}


def test_visits_at_identical_coordinates_cost_one_drive() -> None:
    visits = [Visit(key=str(n), place=4, service_minutes=30) for n in range(5)]
    problem = week(visits, [day()])
    found = solved(problem)
    assert driven(found.plan, problem) == 80
    stops = found.plan.rounds[0].stops
    assert [after.arrive - before.leave for before, after in pairwise(stops)] == [0, 0, 0, 0]


def test_the_more_urgent_visits_win_when_hours_are_short() -> None:
    visits = [
        Visit(key=f"{points}", place=1, service_minutes=150, priority=points)
        for points in (100, 4000, 150, 630, 2000)
    ]
    found = solved(week(visits, [day()]))
    assert set(by_tester(found.plan)) == {"4000", "2000", "630"}
    assert {left.cause for left in found.plan.left_out} == {Cause.NOT_ENOUGH_HOURS}


def test_a_long_drive_is_no_reason_to_leave_a_visit_out() -> None:
    visit = Visit(key="far", place=20, service_minutes=100, priority=100)
    assert solved(week([visit], [day()])).plan.left_out == ()


def test_promises_are_kept_to_the_minute_while_the_rest_moves() -> None:
    promised = [
        Visit(key="P1", place=7, service_minutes=30, promise=Promise("T-2", 700, 730)),
        Visit(key="P2", place=1, service_minutes=45, promise=Promise("T-1", 2000, 2045)),
    ]
    others = [Visit(key=f"V{n}", place=n % 9, service_minutes=40) for n in range(20)]
    days = [day("T-1"), day("T-1", number=1), day("T-2"), day("T-2", number=1)]
    plan = solved(week([*promised, *others], days)).plan
    kept = {
        stop.visit: (one.tester, stop.arrive, stop.leave)
        for one in plan.rounds
        for stop in one.stops
        if stop.visit.startswith("P")
    }
    assert kept == {"P1": ("T-2", 700, 730), "P2": ("T-1", 2000, 2045)}


def test_a_promise_nobody_can_keep_is_told_and_the_rest_is_planned_well() -> None:
    broken = Visit(key="P", place=1, service_minutes=30, promise=Promise("T-9", 500, 530))
    rest = [Visit(key=f"V{n}", place=n, service_minutes=40) for n in range(1, 6)]
    found = solve(week([broken, *rest], [day()]), effort=BRIEF)
    assert not found.is_feasible
    assert [violation.rule for violation in found.violations] == [Rule.PROMISE]
    assert set(by_tester(found.plan)) == {visit.key for visit in rest}


def test_two_promises_that_exclude_each_other_leave_one_told() -> None:
    pair = [
        Visit(key="P1", place=1, service_minutes=30, promise=Promise("T-1", 600, 630)),
        Visit(key="P2", place=9, service_minutes=30, promise=Promise("T-1", 640, 670)),
    ]
    found = solve(week(pair, [day()]), effort=BRIEF)
    assert [(v.rule, v.visit) for v in found.violations] == [(Rule.PROMISE, "P2")]


def test_no_visits_no_days_and_nothing_possible_make_plans_without_rounds() -> None:
    lost = Visit(key="A", place=None, service_minutes=30)
    assert solved(week([], [day()])).plan.rounds == ()
    assert solved(week([lost], [day()])).plan.left_out[0].cause is Cause.NO_COORDINATES
    alone = solved(week([Visit(key="A", place=1, service_minutes=30)], []))
    assert alone.plan.left_out[0].cause is Cause.NO_TESTER


def test_lunch_that_the_engine_does_not_know_is_still_kept() -> None:
    # Six visits are 480 minutes of driving and work in a day of 509; with lunch only five fit.
    free = day(ends=989)
    busy = replace(free, lunch=Lunch(Window(690, 780), 30))
    visits = [Visit(key=str(n), place=n, service_minutes=60) for n in range(1, 8)]
    assert len(by_tester(solved(week(visits, [free])).plan)) == 6
    assert len(by_tester(solved(week(visits, [busy])).plan)) == 5


def test_lunches_are_part_of_the_search_and_cost_no_rule() -> None:
    problem = with_lunches(town(3, visits=60, testers=2, days=2))
    found = solved(problem, effort=Effort(iterations=400, seed=1))
    plain = plan_of(draft_of(problem, required_only=False), how="insertion")
    assert found.plan.how == solver.BY_SOLVER
    assert lost(found.plan, problem) < lost(plain, problem)
    again = solve(problem, effort=Effort(iterations=400, seed=1))
    assert again.plan == found.plan


def with_lunches(problem: Problem) -> Problem:
    """Half an hour for everybody, between 11:30 and 13:30."""
    days = tuple(
        replace(one, lunch=Lunch(Window(one.starts + 210, one.starts + 330), 30))
        for one in problem.days
    )
    return replace(problem, days=days)


def test_lunch_is_eaten_where_the_day_leads_and_not_at_home() -> None:
    # Two far visits of two hours: going home in between would cost 160 minutes more.
    visits = [Visit(key=str(n), place=8, service_minutes=120) for n in range(2)]
    busy = replace(day(ends=910), lunch=Lunch(Window(660, 720), 30))
    problem = week(visits, [busy])
    plan = solved(problem).plan
    assert driven(plan, problem) == 160
    assert [stop.arrive for stop in plan.rounds[0].stops] == [560, 710]


def test_a_tester_the_customer_does_not_want_does_not_come() -> None:
    barred = frozenset([("T-1", MONDAY)])
    visit = Visit(key="A", place=1, service_minutes=30, barred=barred)
    problem = week([visit], [day("T-1"), day("T-2", depot=19)])
    assert by_tester(solved(problem).plan) == {"A": "T-2"}
    alone = solved(week([visit], [day("T-1")])).plan
    assert alone.left_out[0].cause is Cause.FORBIDDEN


def test_a_day_takes_no_more_visits_than_its_tester_does() -> None:
    visits = [Visit(key=str(n), place=n, service_minutes=30) for n in range(1, 7)]
    days = [replace(day("T-1"), most_visits=2), replace(day("T-2", depot=19), most_visits=3)]
    found = solved(week(visits, days))
    assert Counter(by_tester(found.plan).values()) == {"T-1": 2, "T-2": 3}
    assert len(found.plan.left_out) == 1


def test_a_permit_space_takes_two_people_at_once() -> None:
    vault = Visit(
        key="V", place=5, service_minutes=60, people=2, skills=frozenset(["confined space"])
    )
    others = [Visit(key=f"A{n}", place=n, service_minutes=30) for n in range(1, 9)]
    able = ["confined space"]
    days = [day("T-1", skills=able), day("T-2", skills=able), day("T-3")]
    problem = week([vault, *others], days)
    found = solved(problem)
    at = {stop.visit: (one.tester, stop) for one in found.plan.rounds for stop in one.stops}
    (first, here), (second, there) = at["V"], at[second_key("V")]
    assert {first, second} == {"T-1", "T-2"}
    assert (here.place, here.arrive, here.leave) == (there.place, there.arrive, there.leave)
    assert len(at) == 10


def test_with_one_able_tester_a_permit_space_is_not_planned() -> None:
    vault = Visit(
        key="V", place=5, service_minutes=60, people=2, skills=frozenset(["confined space"])
    )
    found = solved(week([vault], [day("T-1", skills=["confined space"]), day("T-2")]))
    (left,) = found.plan.left_out
    assert left.cause is Cause.TWO_PEOPLE
    assert left.words.startswith("it needs two people at once with confined space")
    assert helps_for(found.plan, problem=week([vault], [day("T-1"), day("T-2")])).found[
        "V"
    ] == Help(HelpKind.ONE_MORE_TESTER, day=MONDAY, skills=("confined space",))


def test_two_people_are_not_sent_by_two_companies() -> None:
    vault = Visit(key="V", place=5, service_minutes=60, people=2)
    days = [replace(day("T-1"), team="Cattail"), replace(day("T-2"), team="Stillbrook")]
    assert solved(week([vault], days)).plan.left_out[0].cause is Cause.TWO_PEOPLE


def test_forty_locked_stops_stay_where_they_are() -> None:
    problem = town(11, visits=90, testers=4, days=3)
    first = solved(problem, effort=Effort(iterations=150, seed=1)).plan
    stops = [(one, stop) for one in first.rounds for stop in one.stops]
    locked = {stop.visit: Promise(one.tester, stop.arrive, stop.leave) for one, stop in stops[::2]}
    assert len(locked) >= 40
    again = replace(
        problem,
        visits=tuple(
            replace(one, promise=locked.get(one.key), priority=5000 - one.priority)
            for one in problem.visits
        ),
    )
    plan = solved(again, effort=Effort(iterations=150, seed=2)).plan
    kept = {
        stop.visit: Promise(one.tester, stop.arrive, stop.leave)
        for one in plan.rounds
        for stop in one.stops
    }
    assert {key: kept[key] for key in locked} == locked


def test_a_seeded_town_breaks_no_rule_and_beats_plain_insertion() -> None:
    problem = town(3, visits=60, testers=2, days=2)
    found = solved(problem, effort=Effort(iterations=400, seed=1))
    plain = plan_of(draft_of(problem, required_only=False), how="insertion")
    assert lost(found.plan, problem) < lost(plain, problem)


def lost(plan: Plan, problem: Problem) -> int:
    return sum(problem.visit_by_key[left.visit].priority for left in plan.left_out)


def test_iterations_with_a_seed_repeat_exactly() -> None:
    problem = town(5, visits=40, testers=2, days=2)
    effort = Effort(iterations=150, seed=7)
    assert solve(problem, effort=effort) == solve(problem, effort=effort)


def test_seconds_cap_the_search() -> None:
    problem = town(5, visits=40, testers=2, days=2)
    told: list[solver.Progress] = []
    found = solve(problem, effort=Effort(seconds=1.2), progress=told.append)
    assert found.is_feasible
    assert [progress.seconds < 2.5 for progress in told] == [True]


def test_an_effort_without_end_is_refused() -> None:
    with pytest.raises(ValueError, match="how many"):
        solve(week([], []), effort=Effort())


@dataclass(frozen=True)
class NoPlan:
    """What the engine hands back when it found nothing feasible."""

    def is_feasible(self) -> bool:
        return False


def test_an_infeasible_answer_is_replaced_and_said_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pyvrp.solve", lambda *_args, **_named: NoPlan())
    visit = Visit(key="A", place=1, service_minutes=30)
    found = solve(week([visit], [day()]), effort=BRIEF)
    assert found.is_feasible
    assert found.plan.how == solver.BY_INSERTION
    assert by_tester(found.plan) == {"A": "T-1"}
    assert "plain insertion" in found.notes[0]


def test_days_that_a_window_covers_whole_need_one_span() -> None:
    days = [day(number=number) for number in range(5)]
    daily = tuple(Window(n * 1440 + 400, n * 1440 + 1100) for n in range(5))
    visit = Visit(key="A", place=1, service_minutes=30, windows=daily)
    assert start_spans(visit, able=days) == [(400, 4 * 1440 + 1070)]
    short = replace(visit, windows=tuple(Window(w.opens, w.opens + 200) for w in daily))
    assert len(start_spans(short, able=days)) == 5
    assert start_spans(short, able=days[1:3]) == [(1840, 2010), (3280, 3450)]


# Published instances. Units of the instance stand for minutes; see fixtures/instances/SOURCES.md.


def sections(name: str) -> dict[str, list[list[float]]]:
    """The numbers under each heading of an instance file."""
    found: dict[str, list[list[float]]] = {}
    heading = ""
    for line in (INSTANCES / name).read_text().splitlines():
        if line[:1].isalpha():
            heading = line.split(":")[0].strip()
            found[heading] = []
        elif line.strip():
            found[heading].append([float(word) for word in line.split()])
    return found


def rc208(*, testers: int) -> Problem:
    """RC208 with distances ten times and cut, as its best known cost is counted; loads included."""
    read = sections("rc208.vrp")
    points = [(x, y) for _number, x, y in read["NODE_COORD_SECTION"]]
    table = [[int(10 * math.dist(a, b)) for b in points] for a in points]
    windows = [(int(10 * a), int(10 * b)) for _number, a, b in read["TIME_WINDOW_SECTION"]]
    loads = [int(load) for _number, load in read["DEMAND_SECTION"]]
    visits = tuple(
        # The instance limits when service begins, we when it ends: ten units later, times ten.
        Visit(
            key=str(place),
            place=place,
            service_minutes=100,
            required=True,
            windows=(Window(windows[place][0], windows[place][1] + 100),),
            space=loads[place],
        )
        for place in range(1, len(points))
    )
    days = tuple(
        WorkingDay(f"T-{n}", MONDAY, 0, windows[0][1], depot=0, places=1_000)
        for n in range(testers)
    )
    return Problem(visits=visits, days=days, travel=Distances(table))


def best_known_rc208(problem: Problem) -> Plan:
    rounds = []
    lines = (INSTANCES / "rc208.sol").read_text().splitlines()
    for number, line in enumerate(one for one in lines if one.startswith("Route")):
        clock, here, stops = 0, 0, []
        for word in line.split(":")[1].split():
            place = int(word)
            opens = problem.visit_by_key[word].windows[0].opens
            clock = max(clock + problem.travel.between(here, place), opens)
            stops.append(Stop(word, place, clock, clock + 100))
            clock, here = clock + 100, place
        rounds.append(Round(f"T-{number}", MONDAY, 0, tuple(stops)))
    return Plan(tuple(rounds), (), "published")


def test_the_best_known_plan_of_rc208_passes_our_checker_at_its_published_cost() -> None:
    problem = rc208(testers=4)
    plan = best_known_rc208(problem)
    assert violations(plan, problem=problem) == ()
    assert driven(plan, problem) == 7761  # rc208.sol: cost 776.1


def test_rc208_is_solved_to_within_one_percent_of_the_best_known() -> None:
    problem = rc208(testers=4)
    found = solved(problem, effort=Effort(iterations=1500, seed=2))
    assert found.plan.how == solver.BY_SOLVER
    assert len(by_tester(found.plan)) == 100
    assert driven(found.plan, problem) <= 7761 * 1.01


@pytest.mark.parametrize("seed", [1, 2])
def test_pr107_is_solved_to_within_half_a_percent_of_the_optimum(seed: int) -> None:
    points = [(x, y) for _number, x, y in sections("pr107.tsp")["NODE_COORD_SECTION"]]
    # TSPLIB's EUC_2D: rounded to the nearest integer. Optimum 44,303 (TSPLIB).
    table = [[int(math.dist(a, b) + 0.5) for b in points] for a in points]
    visits = tuple(
        Visit(key=str(place), place=place, service_minutes=0, required=True)
        for place in range(1, len(points))
    )
    days = (WorkingDay("T-1", MONDAY, 0, 10**6, depot=0),)
    problem = Problem(visits=visits, days=days, travel=Distances(table))
    found = solved(problem, effort=Effort(iterations=600, seed=seed))
    assert 44_303 <= driven(found.plan, problem) <= 44_303 * 1.005


def test_a_week_in_parts_is_one_plan_that_breaks_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = town(3, visits=60, testers=4, days=2)
    monkeypatch.setattr("scheduling.domain.rounds.parts.MOST_VISITS", 20)
    told: list[solver.Progress] = []
    monkeypatch.setattr("scheduling.search_watch.TELL_EVERY", 0)
    found = solve(problem, effort=Effort(iterations=400, seed=1), progress=told.append)
    assert found.violations == ()
    count = len(parts_of(problem, most=20))
    assert count > 2
    assert {one.parts for one in told} == {count}
    assert list(dict.fromkeys(one.part for one in told)) == list(range(1, count + 1))
    served = [stop.visit for one in found.plan.rounds for stop in one.stops]
    assert len(served) == len(set(served))
    assert {*served, *(left.visit for left in found.plan.left_out)} == {
        visit.key for visit in problem.visits
    }
    assert solve(problem, effort=Effort(iterations=400, seed=1)).plan == found.plan
