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
    helps = helps_for(planned(problem), problem=problem)
    assert helps.untried == ()
    return dict(helps.found)


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
    found = helps_for(plan, problem=problem).found
    assert found == {"B": Help(HelpKind.OTHER_PROMISE, other="A")}


def test_eighty_minutes_between_them_are_enough() -> None:
    first = Visit(key="A", place=1, service_minutes=30, promise=Promise("T-1", 600, 630))
    second = Visit(key="B", place=9, service_minutes=30, promise=Promise("T-1", 710, 740))
    other = replace(second, key="C", promise=Promise("T-2", 600, 630))
    assert clashing_promises(week([first, second, other], [day(), day("T-2")])) == {}


def test_one_more_visit_where_the_tester_takes_no_more_a_day() -> None:
    days = [replace(day(), most_visits=1)]
    near = [
        Visit(key=key, place=0, service_minutes=30, priority=p) for key, p in [("A", 9), ("B", 8)]
    ]
    problem = week(near, days)
    (left,) = planned(problem).left_out
    assert (left.visit, left.cause) == ("B", Cause.MOST_VISITS)
    assert left.words.startswith("most visits reached")
    assert helped(problem) == {"B": Help(HelpKind.MORE_VISITS, "T-1", MONDAY)}


def test_the_least_room_in_the_van_that_is_enough() -> None:
    days = [replace(day(), places=3)]
    large = [
        Visit(key=key, place=0, service_minutes=30, priority=p, space=2)
        for key, p in [("A", 9), ("B", 8)]
    ]
    problem = week([*large, Visit(key="C", place=0, service_minutes=30, space=5)], days)
    left = {one.visit: one for one in planned(problem).left_out}
    assert {key: one.cause for key, one in left.items()} == dict.fromkeys("BC", Cause.NO_ROOM)
    assert left["B"].words.startswith("no room in the van: a tester has hours left")
    assert left["C"].words.startswith("no room in the van: its parts take 5 places")
    assert helped(problem) == {
        "B": Help(HelpKind.MORE_ROOM, "T-1", MONDAY, 1),
        "C": Help(HelpKind.MORE_ROOM, "T-1", MONDAY, 4),
    }


def test_a_longer_day_out_where_the_longest_is_reached() -> None:
    # Two hours out; A and B take an hour each beside the depot, C half an hour more.
    days = [replace(day(), longest_minutes=120)]
    visits = [
        Visit(key=key, place=0, service_minutes=minutes, priority=points)
        for key, minutes, points in [("A", 60, 900), ("B", 60, 800), ("C", 30, 100)]
    ]
    problem = week(visits, days)
    (left,) = planned(problem).left_out
    assert (left.visit, left.cause) == ("C", Cause.LONGEST_DAY)
    assert left.words.startswith("longest day reached")
    assert helped(problem) == {"C": Help(HelpKind.LONGER_DAY, "T-1", MONDAY, 30)}


def test_a_day_that_is_full_anyhow_is_not_blamed_on_its_limits() -> None:
    days = [replace(day(), most_visits=1, longest_minutes=505)]
    problem = week([*full(ends=980), Visit(key="A", place=0, service_minutes=60)], days)
    (left,) = planned(problem).left_out
    assert left.cause is Cause.NOT_ENOUGH_HOURS


def test_what_needs_longer_than_a_day_is_made_two_visits() -> None:
    problem = week([Visit(key="A", place=0, service_minutes=700)], [day()])
    assert planned(problem).left_out[0].cause is Cause.TOO_LONG
    assert helped(problem) == {"A": Help(HelpKind.TWO_VISITS)}


def test_longer_than_the_longest_day_out_says_what_that_leaves() -> None:
    days = [replace(day(), longest_minutes=100)]
    (left,) = planned(week([Visit(key="A", place=3, service_minutes=50)], days)).left_out
    assert left.cause is Cause.TOO_LONG
    assert "leave 40 min" in left.words  # 100 less thirty minutes there and thirty back


def test_open_only_at_night_and_days_full_asks_for_more_days() -> None:
    night = Visit(key="A", place=0, service_minutes=30, windows=(Window(1200, 1300),))
    problem = week([*full(), night], [day()])
    assert planned(problem).left_out[0].cause is Cause.NO_WINDOW
    assert helped(problem) == {"A": Help(HelpKind.MORE_DAYS)}


def test_with_nobody_at_work_somebody_is_approved_first() -> None:
    assert helped(week([Visit(key="A", place=0, service_minutes=30)], [])) == {
        "A": Help(HelpKind.MORE_APPROVED)
    }


def test_a_promise_that_nobody_keeps_is_kept_by_hand_or_called() -> None:
    lost = Visit(key="A", place=1, service_minutes=30, promise=Promise("T-9", 500, 530))
    assert helped(week([lost], [day()])) == {"A": Help(HelpKind.KEEP_BY_HAND)}


def test_a_pair_with_one_able_tester_asks_for_one_more() -> None:
    vault = Visit(key="A", place=1, service_minutes=30, people=2, skills=frozenset(["x"]))
    assert helped(week([vault], [day(skills=["x"]), day("T-2")])) == {
        "A": Help(HelpKind.ONE_MORE_TESTER, day=MONDAY, skills=("x",))
    }


def test_every_cause_has_an_answer_somewhere_here() -> None:
    answered = {
        Cause.NO_COORDINATES, Cause.NOTICE, Cause.FORBIDDEN,  # plain causes
        Cause.PROMISED, Cause.NO_TESTER, Cause.NO_SKILL, Cause.TWO_PEOPLE, Cause.NO_WINDOW,
        Cause.TOO_LONG, Cause.NO_ROOM, Cause.MOST_VISITS, Cause.LONGEST_DAY, Cause.NOT_ENOUGH_HOURS,
    }  # fmt: skip
    assert answered == set(Cause)


def test_more_than_thirty_are_tried_and_those_that_are_not_are_named() -> None:
    waiting = [
        Visit(key=f"V{n:02}", place=0, service_minutes=200, priority=1000 - n) for n in range(50)
    ]
    problem = week([*full(), *waiting], [day()])
    plan = planned(problem)
    assert len(helps_for(plan, problem=problem).found) == 50
    # Four changes are tried for each, and none is enough: after ten tries the third is begun.
    some = helps_for(plan, problem=problem, most=10)
    assert sorted(some.found) == ["V00", "V01", "V02"]
    assert some.untried == tuple(f"V{n:02}" for n in range(3, 50))


def test_a_window_of_no_length_leaves_nothing_and_a_longer_one_would_help() -> None:
    shut = Visit(key="A", place=0, service_minutes=30, windows=(Window(600, 600),))
    problem = week([shut], [day()])
    (left,) = planned(problem).left_out
    assert (left.cause, "leave 0 min" in left.words) == (Cause.TOO_LONG, True)
    assert helped(problem) == {"A": Help(HelpKind.LONGER_WINDOW, "T-1", MONDAY)}


def test_hours_of_no_length_are_no_hours() -> None:
    problem = week([Visit(key="A", place=0, service_minutes=30)], [day(starts=480, ends=480)])
    (left,) = planned(problem).left_out
    assert left.cause is Cause.TOO_LONG
    assert helped(problem) == {"A": Help(HelpKind.EARLIER_START, "T-1", MONDAY, 30)}
