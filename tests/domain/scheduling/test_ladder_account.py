"""Each rung of a ladder says on any day what it is then and why; one rung at most is owed."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.domain.ladder_account import RungAccount, RungVerdict, account
from scheduling.domain.ladders import Ladder, LeftRung, Rung, Trigger, rung_owed
from scheduling.domain.obligations import Obligation, ObligationKey, Origin

DUE = date(2025, 9, 4)

LADDER = Ladder(
    (
        Rung(key="test-owed", trigger=Trigger.PROMPTED, citation="a", offset_days=10),
        Rung(key="reminder", trigger=Trigger.DUE, citation="b", offset_days=-30, is_skippable=True),
        Rung(key="repair", trigger=Trigger.FAILED, citation="c"),
        Rung(key="first-overdue", trigger=Trigger.DUE, citation="d", offset_days=1),
        Rung(
            key="final",
            trigger=Trigger.DUE,
            citation="e",
            offset_days=15,
            after="first-overdue",
            gap_days=14,
        ),
    )
)


def owed(**changes: object) -> Obligation:
    values: dict[str, object] = {
        "key": ObligationKey("test", Origin.CYCLE, date(2024, 9, 4), DUE),
        "opens_on": date(2025, 7, 1),
        "due_on": DUE,
        "is_open": True,
        "rule": "yearly",
        "citation": "an example",
        "rulebook": "plain",
        **changes,
    }
    return Obligation(**values)  # type: ignore[arg-type]


def accounts(day: date, *left: LeftRung, **changes: object) -> dict[str, RungAccount]:
    found = account(ladder=LADDER, obligation=owed(**changes), left=left, day=day)
    return {one.rung: one for one in found}


def verdicts(day: date, *left: LeftRung, **changes: object) -> list[str]:
    return [one.verdict.value for one in accounts(day, *left, **changes).values()]


def test_before_the_due_date_the_reminder_comes_and_the_overdue_rungs_wait() -> None:
    # Due 2025-09-04 - 30 days = 2025-08-05.
    found = accounts(date(2025, 8, 1))
    assert found["reminder"].verdict is RungVerdict.COMES
    assert found["reminder"].on == date(2025, 8, 5)
    assert "due 2025-09-04 - 30 days = 2025-08-05" in found["reminder"].why
    assert found["test-owed"].why == "no event asked for this test"
    assert found["repair"].why == "no failed test waits for a cure"
    assert found["final"].why.startswith("waits until first-overdue has left")


def test_the_day_after_the_due_date_the_first_overdue_is_owed_and_courtesy_passed_over() -> None:
    assert verdicts(date(2025, 9, 5)) == [
        "no part of it",
        "passed over",
        "no part of it",
        "owed",
        "waits",
    ]


def test_after_a_rung_left_the_next_comes_when_its_gap_is_over() -> None:
    # first-overdue left 2025-09-10 + 14 days = 2025-09-24; due + 15 days = 2025-09-19.
    left = LeftRung(rung="first-overdue", left_on=date(2025, 9, 10))
    found = accounts(date(2025, 9, 20), left)
    assert found["first-overdue"].verdict is RungVerdict.LEFT
    assert (found["final"].verdict, found["final"].on) == (RungVerdict.COMES, date(2025, 9, 24))


def test_once_a_test_failed_nothing_in_advance_is_owed() -> None:
    found = accounts(date(2025, 8, 6), failed_on=date(2025, 8, 1), cure_by=date(2025, 8, 31))
    assert found["repair"].verdict is RungVerdict.OWED
    assert "a test failed 2025-08-01" in found["reminder"].why


def test_a_closed_and_an_idle_obligation_owe_no_rung_and_say_so() -> None:
    assert set(verdicts(date(2025, 9, 5), closed_on=date(2025, 8, 1))) == {"no part of it"}
    idle = accounts(date(2025, 9, 5), is_suspended=True)
    assert {one.why for one in idle.values()} == {"idle: nothing is owed until the return to use"}


def test_a_rung_whose_day_lies_before_the_opening_says_so() -> None:
    found = accounts(date(2025, 8, 20), opens_on=date(2025, 8, 15))
    assert found["reminder"].verdict is RungVerdict.NO_PART
    assert "lies before the opening on 2025-08-15" in found["reminder"].why


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    day=st.integers(-80, 200).map(lambda days: DUE + timedelta(days=days)),
    left=st.dictionaries(
        st.sampled_from(["reminder", "first-overdue", "final"]), st.integers(-60, 180), max_size=3
    ),
    has_failed=st.booleans(),
    prompts=st.lists(st.integers(-60, 0), max_size=2, unique=True),
)
def test_the_account_and_the_run_agree_on_what_is_owed(
    day: date, left: dict[str, int], has_failed: bool, prompts: list[int]
) -> None:
    gone = [
        LeftRung(rung=rung, left_on=DUE + timedelta(days=days))
        for rung, days in left.items()
        if DUE + timedelta(days=days) < day
    ]
    failed = {"failed_on": DUE, "cure_by": DUE + timedelta(days=30)} if has_failed else {}
    one = owed(prompts=tuple(DUE + timedelta(days=days) for days in sorted(prompts)), **failed)
    step = rung_owed(ladder=LADDER, obligation=one, left=gone, today=day)
    found = account(ladder=LADDER, obligation=one, left=gone, day=day)
    now = [each.rung for each in found if each.verdict is RungVerdict.OWED]
    assert now == ([step.rung.key] if step else [])
    assert [each.rung for each in found] == [rung.key for rung in LADDER.rungs]
    assert all(each.why and each.citation for each in found)
