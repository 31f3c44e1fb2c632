"""The checker finds every planted fault by its own name, and none in a good plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduling.domain.rounds.checking import Rule, violations
from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Round, Stop
from scheduling.domain.rounds.visits import Lunch, Problem, Promise, Visit, Window
from tests.domain.scheduling.rounds.towns import MONDAY, day, week

FIRST = Visit(key="A", place=1, service_minutes=30)
SECOND = Visit(key="B", place=3, service_minutes=60)
LUNCH = Lunch(window=Window(opens=690, closes=780), minutes=30)


def the_week() -> Problem:
    return week([FIRST, SECOND], [day("T-1"), day("T-2")])


def good() -> Plan:
    """Ten minutes to A, thirty there, twenty to B, an hour there, thirty back."""
    stops = (Stop("A", 1, 490, 520), Stop("B", 3, 540, 600))
    return Plan((Round("T-1", MONDAY, 0, stops),), (), "by hand")


def with_stops(*stops: Stop, tester: str = "T-1") -> Plan:
    return Plan((Round(tester, MONDAY, 0, stops),), (), "by hand")


def left(key: str) -> LeftOut:
    return LeftOut(key, Cause.NOT_ENOUGH_HOURS, "not enough hours")


def changed(problem: Problem, **fields: object) -> Problem:
    """The week with other values on visit A."""
    first = replace(FIRST, **fields)  # type: ignore[arg-type]
    return week([first, *problem.visits[1:]], problem.days)


def rules(plan: Plan, problem: Problem) -> set[Rule]:
    return {violation.rule for violation in violations(plan, problem=problem)}


def test_a_good_plan_breaks_nothing() -> None:
    assert violations(good(), problem=the_week()) == ()


def test_each_violation_is_told_in_words_with_visit_tester_and_day() -> None:
    plan = with_stops(Stop("A", 1, 490, 510), Stop("B", 3, 540, 600))
    (found,) = violations(plan, problem=the_week())
    assert found.words == "T-1 on 2026-11-30: A needs 30 min and gets 20"
    assert (found.visit, found.tester, found.day) == ("A", "T-1", MONDAY)


A_STOP, B_STOP = good().rounds[0].stops

PLANTED = [
    (Rule.UNKNOWN_VISIT, with_stops(A_STOP, B_STOP, Stop("C", 4, 610, 620))),
    (Rule.UNKNOWN_DAY, with_stops(A_STOP, B_STOP, tester="T-9")),
    (Rule.DAY_TWICE, Plan((*good().rounds, Round("T-1", MONDAY, 0, ())), (), "by hand")),
    (Rule.VISIT_TWICE, with_stops(A_STOP, B_STOP, Stop("A", 1, 620, 650))),
    (Rule.VISIT_TWICE, replace(good(), left_out=(left("B"),))),
    (Rule.UNACCOUNTED, with_stops(A_STOP)),
    (Rule.PLACE, with_stops(Stop("A", 0, 490, 520), Stop("B", 3, 550, 610))),
    (Rule.PLACE, Plan((replace(good().rounds[0], depot=1),), (), "by hand")),
    (Rule.SERVICE, with_stops(Stop("A", 1, 490, 519), B_STOP)),
    (Rule.TRAVEL, with_stops(A_STOP, Stop("B", 3, 539, 600))),
    (Rule.TRAVEL, with_stops(Stop("B", 3, 540, 600), Stop("A", 1, 490, 520))),
    (Rule.HOURS, with_stops(Stop("A", 1, 489, 520), B_STOP)),
    (Rule.HOURS, with_stops(A_STOP, Stop("B", 3, 901, 961))),
]


@pytest.mark.parametrize(("rule", "plan"), PLANTED)
def test_a_planted_fault_is_found_alone(rule: Rule, plan: Plan) -> None:
    assert rules(plan, the_week()) == {rule}


def test_the_last_minute_of_the_day_is_still_good() -> None:
    assert rules(with_stops(A_STOP, Stop("B", 3, 900, 960)), the_week()) == set()


ASKED = [
    (Rule.WINDOW, {"windows": (Window(500, 600),)}),
    (Rule.WINDOW, {"windows": (Window(480, 519),)}),
    (Rule.WINDOW, {"windows": (Window(490, 490),)}),  # of no length at all
    (Rule.NOTICE, {"not_before": 491}),
    (Rule.SKILL, {"skills": frozenset(["fire lines"])}),
    (Rule.NO_COORDINATES, {"place": None}),
    (Rule.PROMISE, {"promise": Promise("T-2", 490, 520)}),
    (Rule.PROMISE, {"promise": Promise("T-1", 600, 630)}),
    (Rule.PROMISE, {"promise": Promise("T-1", 490, 530)}),
]


@pytest.mark.parametrize(("rule", "fields"), ASKED)
def test_a_wish_of_the_visit_that_is_not_met_is_found_alone(
    rule: Rule, fields: dict[str, object]
) -> None:
    assert rules(good(), changed(the_week(), **fields)) == {rule}


def test_one_of_two_windows_is_enough() -> None:
    windows = (Window(400, 430), Window(490, 520))
    assert rules(good(), changed(the_week(), windows=windows)) == set()


def test_a_promise_kept_outweighs_the_usual_windows() -> None:
    kept = changed(the_week(), promise=Promise("T-1", 490, 520), windows=(Window(600, 700),))
    assert rules(good(), kept) == set()


@pytest.mark.parametrize(
    ("rule", "fields"),
    [
        (Rule.REQUIRED, {"required": True}),
        (Rule.PROMISE, {"promise": Promise("T-1", 490, 520)}),
    ],
)
def test_what_must_be_planned_and_is_left_out_is_found(
    rule: Rule, fields: dict[str, object]
) -> None:
    plan = replace(with_stops(B_STOP), left_out=(left("A"),))
    assert rules(plan, changed(the_week(), **fields)) == {rule}


def test_a_day_longer_than_the_longest_is_found() -> None:
    days = [replace(day("T-1"), longest_minutes=149), day("T-2")]
    assert rules(good(), week([FIRST, SECOND], days)) == {Rule.LONGEST_DAY}
    days = [replace(day("T-1"), longest_minutes=150), day("T-2")]
    assert rules(good(), week([FIRST, SECOND], days)) == set()


@pytest.mark.parametrize(
    ("arrive", "broken"),
    [
        (740, set()),  # eaten at A from 690 to 720, then twenty minutes' drive
        (739, {Rule.LUNCH}),  # 29 minutes before the drive, none after
        (719, {Rule.LUNCH}),
        (710, {Rule.LUNCH}),  # straight on, and at B until 800
    ],
)
def test_lunch_needs_its_minutes_inside_its_window(arrive: int, broken: set[Rule]) -> None:
    days = [replace(day("T-1"), lunch=LUNCH), day("T-2")]
    plan = with_stops(Stop("A", 1, 660, 690), Stop("B", 3, arrive, arrive + 90))
    assert rules(plan, week([FIRST, SECOND], days)) == broken


def test_a_stop_on_another_date_than_its_round_breaks_the_hours() -> None:
    later = MONDAY + timedelta(days=1)
    plan = Plan((Round("T-1", later, 0, (A_STOP, B_STOP)),), (), "by hand")
    assert rules(plan, week([FIRST, SECOND], [day("T-1", number=1)])) == {Rule.HOURS}
