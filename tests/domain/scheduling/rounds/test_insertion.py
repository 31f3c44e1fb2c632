"""Our plain plan and the reasons for what it leaves out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.insertion import draft_of, plan_of
from scheduling.domain.rounds.plans import Cause, Plan, drive_minutes, work_minutes
from scheduling.domain.rounds.timing import drivable_part, timed
from scheduling.domain.rounds.unplanned import spoken, why_left_out
from scheduling.domain.rounds.visits import Lunch, Problem, Promise, Visit, Window, WorkingDay
from tests.domain.scheduling.rounds.towns import day, town, week


def plain(problem: Problem) -> Plan:
    plan = plan_of(draft_of(problem, required_only=False), how="insertion")
    assert violations(plan, problem=problem) == ()
    return plan


def order_of(plan: Plan) -> list[str]:
    return [stop.visit for one in plan.rounds for stop in one.stops]


def test_visits_on_a_road_are_driven_out_and_back_once() -> None:
    visits = [Visit(key=str(place), place=place, service_minutes=20) for place in (5, 2, 8, 4)]
    problem = week(visits, [day()])
    plan = plain(problem)
    assert order_of(plan) in (["2", "4", "5", "8"], ["8", "5", "4", "2"])
    assert drive_minutes(plan.rounds[0], travel=problem.travel) == 160
    assert work_minutes(plan.rounds[0], problem=problem) == 80


def test_when_hours_are_short_the_more_urgent_visit_is_planned() -> None:
    visits = [
        Visit(key="coming", place=1, service_minutes=300, priority=150),
        Visit(key="failed", place=2, service_minutes=300, priority=4000),
    ]
    plan = plain(week(visits, [day()]))
    assert order_of(plan) == ["failed"]
    assert plan.left_out[0].cause is Cause.NOT_ENOUGH_HOURS


def test_a_promise_keeps_its_tester_and_its_minute() -> None:
    promised = Visit(
        key="P", place=3, service_minutes=30, promise=Promise("T-2", 2040, 2070), priority=100
    )
    days = [day("T-1"), day("T-1", number=1), day("T-2"), day("T-2", number=1)]
    plan = plain(week([promised, Visit(key="A", place=1, service_minutes=500)], days))
    (kept,) = [stop for one in plan.rounds for stop in one.stops if stop.visit == "P"]
    assert (kept.arrive, kept.leave) == (2040, 2070)


def test_seeded_towns_break_no_rule_and_account_for_every_visit() -> None:
    for seed in range(3):
        problem = town(seed, visits=60, testers=2, days=2)
        plan = plain(problem)
        assert len(order_of(plan)) + len(plan.left_out) == 60


def test_lunch_is_kept_where_it_is_asked_for() -> None:
    free = day(ends=989)
    busy = replace(free, lunch=Lunch(Window(690, 780), 30))
    visits = [Visit(key=str(n), place=n, service_minutes=60) for n in range(1, 8)]
    planned = [len(order_of(plain(week(visits, [one])))) for one in (free, busy)]
    assert planned == [6, 5]  # six are 480 of 509 minutes with the drives, without lunch


def test_no_days_and_no_visits_make_an_empty_plan() -> None:
    assert plain(week([], [])) == Plan((), (), "insertion")
    assert plain(week([], [day()])).rounds == ()


def test_the_drivable_part_drops_the_least_urgent_first() -> None:
    visits = [Visit(key=str(n), place=1, service_minutes=200, priority=n) for n in (3, 1, 2)]
    travel = week([], []).travel
    assert timed(visits, day=day(), travel=travel) is None
    kept = drivable_part(visits, day=day(), travel=travel)
    assert [visit.key for visit in kept] == ["3", "2"]


SHORT = day(starts=480, ends=600)

REASONS: list[tuple[Cause, Visit, list[WorkingDay], str]] = [
    (
        Cause.NO_COORDINATES,
        Visit(key="A", place=None, service_minutes=30, skills=frozenset(["fire lines"])),
        [],
        "no coordinates",
    ),
    (
        Cause.PROMISED,
        Visit(key="A", place=1, service_minutes=30, promise=Promise("T-9", 500, 530)),
        [],
        "call the customer",
    ),
    (Cause.NO_TESTER, Visit(key="A", place=1, service_minutes=30), [], "no tester"),
    (
        Cause.NO_SKILL,
        Visit(key="A", place=1, service_minutes=900, skills=frozenset(["fire lines", "x"])),
        [day(skills=["x"])],
        "offers: fire lines",
    ),
    (
        Cause.NOTICE,
        Visit(key="A", place=1, service_minutes=30, not_before=5000),
        [day()],
        "notice too short",
    ),
    (
        Cause.NOTICE,
        Visit(key="A", place=1, service_minutes=30, not_before=700, windows=(Window(500, 600),)),
        [day()],
        "notice too short",
    ),
    (
        Cause.NO_WINDOW,
        Visit(key="A", place=1, service_minutes=30, windows=(Window(1000, 1100),)),
        [day()],
        "open hours",
    ),
    (
        Cause.TOO_LONG,
        Visit(key="A", place=3, service_minutes=190),
        [SHORT],
        "it needs 3 h 10, and the drive there and back and its open hours leave 1 h",
    ),
    (
        Cause.TOO_LONG,
        Visit(key="A", place=1, service_minutes=30, windows=(Window(500, 510),)),
        [day()],
        "leave 10 min",
    ),
    (Cause.NOT_ENOUGH_HOURS, Visit(key="A", place=1, service_minutes=30), [day()], "not enough"),
]


@pytest.mark.parametrize(("cause", "visit", "days", "words"), REASONS)
def test_the_first_cause_that_holds_is_told(
    cause: Cause, visit: Visit, days: list[WorkingDay], words: str
) -> None:
    found = why_left_out(visit, problem=week([visit], days))
    assert found.cause is cause
    assert words in found.words


def test_two_skills_that_only_two_people_have_are_both_named() -> None:
    visit = Visit(key="A", place=1, service_minutes=30, skills=frozenset(["a", "b"]))
    days = [day("T-1", skills=["a"]), day("T-2", skills=["b"])]
    assert "offers: a, b" in why_left_out(visit, problem=week([visit], days)).words


@pytest.mark.parametrize(
    ("minutes", "words"), [(0, "0 min"), (45, "45 min"), (60, "1 h"), (185, "3 h 05")]
)
def test_minutes_are_said_as_people_say_them(minutes: int, words: str) -> None:
    assert spoken(minutes) == words


def test_doubled_keys_are_refused() -> None:
    twice = Visit(key="A", place=1, service_minutes=1)
    with pytest.raises(ValueError, match="one key"):
        week([twice, twice], [])
    with pytest.raises(ValueError, match="twice"):
        week([], [day(), day()])
