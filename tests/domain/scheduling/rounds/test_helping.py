"""What would let a visit be planned: the least change that is enough, tried on the plan."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.domain.rounds.helping import Help, HelpKind, clashing_promises, helps_for
from scheduling.domain.rounds.insertion import draft_of, plan_of
from scheduling.domain.rounds.plans import Cause, Plan
from scheduling.domain.rounds.visits import Problem, Promise, Visit, Window
from tests.domain.scheduling.rounds.towns import MONDAY, day, week


def planned(problem: Problem) -> Plan:
    return plan_of(draft_of(problem, required_only=False), how="insertion")


def helped(problem: Problem) -> dict[str, Help]:
    return helps_for(planned(problem), problem=problem)


def full(*, ends: int = 990) -> list[Visit]:
    """Visits next to the depot that fill a day from 480 on, to the last minute."""
    return [Visit(key="full", place=0, service_minutes=ends - 480, priority=4000)]


def test_half_an_hour_sooner_is_enough() -> None:
    problem = week([*full(), Visit(key="A", place=0, service_minutes=30)], [day()])
    assert helped(problem) == {"A": Help(HelpKind.EARLIER_START, "T-1", MONDAY, 30)}


def test_an_hour_where_half_is_not() -> None:
    problem = week([*full(), Visit(key="A", place=0, service_minutes=31)], [day()])
    assert helped(problem) == {"A": Help(HelpKind.EARLIER_START, "T-1", MONDAY, 60)}


def test_a_later_end_where_the_customer_opens_late() -> None:
    late = Visit(key="A", place=0, service_minutes=30, windows=(Window(960, 1100),))
    early = [replace(one, windows=(Window(480, 980),)) for one in full(ends=980)]
    problem = week([*early, late], [day()])
    assert helped(problem) == {"A": Help(HelpKind.LATER_END, "T-1", MONDAY, 30)}


def test_a_longer_window_where_the_tester_has_time() -> None:
    noon = Visit(key="A", place=0, service_minutes=30, windows=(Window(700, 740),))
    busy = Visit(key="B", place=0, service_minutes=80, windows=(Window(680, 760),), priority=4000)
    assert helped(week([noon, busy], [day()])) == {"A": Help(HelpKind.LONGER_WINDOW, "T-1", MONDAY)}


def test_one_more_tester_with_what_nobody_brings() -> None:
    fire = Visit(key="A", place=2, service_minutes=30, skills=frozenset(["fire lines"]))
    assert helped(week([fire], [day()])) == {
        "A": Help(HelpKind.ONE_MORE_TESTER, day=MONDAY, skills=("fire lines",))
    }


def test_one_more_tester_where_no_small_change_is_enough() -> None:
    problem = week([*full(), Visit(key="A", place=0, service_minutes=200)], [day()])
    assert helped(problem) == {"A": Help(HelpKind.ONE_MORE_TESTER, day=MONDAY)}


@pytest.mark.parametrize(
    ("visit", "kind"),
    [
        (Visit(key="A", place=None, service_minutes=30), HelpKind.COORDINATES),
        (Visit(key="A", place=1, service_minutes=30, not_before=5000), HelpKind.LESS_NOTICE),
        (
            Visit(key="A", place=1, service_minutes=30, barred=frozenset([("T-1", MONDAY)])),
            HelpKind.ASK_CUSTOMER,
        ),
    ],
)
def test_plain_causes_have_plain_answers(visit: Visit, kind: HelpKind) -> None:
    assert helped(week([visit], [day()])) == {"A": Help(kind)}


def test_two_promises_that_exclude_each_other_name_each_other() -> None:
    first = Visit(key="A", place=1, service_minutes=30, promise=Promise("T-1", 600, 630))
    second = Visit(key="B", place=9, service_minutes=30, promise=Promise("T-1", 709, 739))
    problem = week([first, second], [day()])
    assert clashing_promises(problem) == {"A": "B", "B": "A"}
    plan = planned(problem)
    assert [(left.visit, left.cause) for left in plan.left_out] == [("B", Cause.PROMISED)]
    assert helps_for(plan, problem=problem) == {"B": Help(HelpKind.OTHER_PROMISE, other="A")}


def test_eighty_minutes_between_them_are_enough() -> None:
    first = Visit(key="A", place=1, service_minutes=30, promise=Promise("T-1", 600, 630))
    second = Visit(key="B", place=9, service_minutes=30, promise=Promise("T-1", 710, 740))
    other = replace(second, key="C", promise=Promise("T-2", 600, 630))
    assert clashing_promises(week([first, second, other], [day(), day("T-2")])) == {}
