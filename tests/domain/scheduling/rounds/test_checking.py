"""The checker finds every planted fault by its own name, and none in a good plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduling.domain.rounds.checking import Rule, violations
from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Round, Stop
from scheduling.domain.rounds.visits import (
    Lunch,
    Problem,
    Promise,
    Visit,
    Window,
    second_key,
)
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
    (Rule.FORBIDDEN, {"barred": frozenset([("T-1", MONDAY)])}),
    (Rule.TWO_PEOPLE, {"people": 2}),
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


def test_more_visits_than_a_tester_takes_a_day_are_found() -> None:
    days = [replace(day("T-1"), most_visits=1), day("T-2")]
    assert rules(good(), week([FIRST, SECOND], days)) == {Rule.MOST_VISITS}
    days = [replace(day("T-1"), most_visits=2), day("T-2")]
    assert rules(good(), week([FIRST, SECOND], days)) == set()


def test_parts_that_find_no_place_in_the_van_are_found() -> None:
    visits = [replace(FIRST, space=2), replace(SECOND, space=1)]
    days = [replace(day("T-1"), places=2), day("T-2")]
    (told,) = violations(good(), problem=week(visits, days))
    assert told.rule is Rule.ROOM
    assert told.words.endswith("parts for these visits take 3 places, the van has 2")
    assert (told.tester, told.day) == ("T-1", MONDAY)
    days = [replace(day("T-1"), places=3), day("T-2")]
    assert rules(good(), week(visits, days)) == set()


def test_a_second_person_brings_no_parts() -> None:
    days = [replace(day("T-1"), places=2), replace(day("T-2"), places=0)]
    visits = [replace(FIRST, space=2, people=2), SECOND]
    assert rules(together(), week(visits, days)) == set()


def test_somebody_not_wanted_on_another_day_breaks_nothing() -> None:
    barred = frozenset([("T-1", MONDAY + timedelta(days=1)), ("T-2", MONDAY)])
    assert rules(good(), changed(the_week(), barred=barred)) == set()


def together(*, arrive: int = 490, leave: int = 520, place: int = 1, tester: str = "T-2") -> Plan:
    """The good plan with a second person at A."""
    second = Round(tester, MONDAY, 0, (Stop(second_key("A"), place, arrive, leave),))
    return replace(good(), rounds=(*good().rounds, second))


def test_two_people_at_one_place_for_the_same_minutes_break_nothing() -> None:
    assert rules(together(), changed(the_week(), people=2)) == set()


APART = [
    (together(arrive=491, leave=521), {Rule.TWO_PEOPLE}),  # a minute late
    (together(leave=519), {Rule.TWO_PEOPLE, Rule.SERVICE}),  # gone before the other
    (together(place=2, arrive=500, leave=530), {Rule.TWO_PEOPLE, Rule.PLACE}),
    (replace(together(), rounds=together().rounds[1:], left_out=(left("B"),)), {Rule.TWO_PEOPLE,
     Rule.UNACCOUNTED}),  # only the second came
]  # fmt: skip


@pytest.mark.parametrize(("plan", "broken"), APART)
def test_two_people_who_are_not_together_are_found(plan: Plan, broken: set[Rule]) -> None:
    assert rules(plan, changed(the_week(), people=2)) == broken


def test_one_tester_is_not_two_people() -> None:
    stops = (A_STOP, Stop(second_key("A"), 1, 490, 520), B_STOP)
    plan = Plan((Round("T-1", MONDAY, 0, stops),), (), "by hand")
    assert Rule.TWO_PEOPLE in rules(plan, changed(the_week(), people=2))


def test_two_people_bring_what_is_asked_for_both() -> None:
    asked = changed(the_week(), people=2, skills=frozenset(["confined space"]))
    days = [day("T-1", skills=["confined space"]), day("T-2")]
    assert rules(together(), week(asked.visits, days)) == {Rule.SKILL}


def test_two_people_are_of_one_testing_company() -> None:
    asked = changed(the_week(), people=2)
    days = [replace(day("T-1"), team="Cattail"), replace(day("T-2"), team="Stillbrook")]
    assert rules(together(), week(asked.visits, days)) == {Rule.TWO_PEOPLE}


def test_a_second_person_nobody_asked_for_is_found() -> None:
    assert rules(together(), the_week()) == {Rule.UNKNOWN_VISIT}


def test_the_second_person_was_promised_too() -> None:
    promised = {"promise": Promise("T-1", 490, 520), "people": 2}
    kept = changed(the_week(), **promised, second_promise=Promise("T-2", 490, 520))
    assert rules(together(), kept) == set()
    other = changed(the_week(), **promised, second_promise=Promise("T-3", 490, 520))
    assert rules(together(), other) == {Rule.PROMISE}


def test_every_rule_of_the_checker_has_a_planted_fault() -> None:
    planted = {rule for rule, _plan in PLANTED} | {rule for rule, _fields in ASKED}
    planted |= {Rule.REQUIRED, Rule.LONGEST_DAY, Rule.LUNCH}  # tests above
    planted |= {Rule.MOST_VISITS, Rule.ROOM}
    assert planted == set(Rule)


def test_a_stop_on_another_date_than_its_round_breaks_the_hours() -> None:
    later = MONDAY + timedelta(days=1)
    plan = Plan((Round("T-1", later, 0, (A_STOP, B_STOP)),), (), "by hand")
    assert rules(plan, week([FIRST, SECOND], [day("T-1", number=1)])) == {Rule.HOURS}
