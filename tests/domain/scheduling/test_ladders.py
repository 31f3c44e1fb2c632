"""The teaching ladder: which rung is owed on a day, given the rungs that left."""

from __future__ import annotations

from datetime import date

import pytest

from scheduling.domain.ladders import LeftRung, RungStep, next_rung, rung_owed
from scheduling.domain.obligations import Obligation, ObligationKey, Origin
from tests.domain.scheduling.histories import book

LADDER = book("plain-rolling").ladder
DUE = date(2025, 9, 4)
OPEN = Obligation(
    key=ObligationKey("test", Origin.CYCLE, date(2024, 9, 4), DUE),
    opens_on=date(2025, 7, 6),
    due_on=DUE,
    is_open=True,
    rule="cycle yearly",
    citation="a teaching rulebook",
    rulebook="plain-rolling",
)
FAILED = OPEN._replace(failed_on=date(2025, 8, 1), cure_by=date(2025, 8, 22))
OWED = OPEN._replace(
    key=ObligationKey("test", Origin.REPAIRED, date(2025, 7, 6), date(2025, 7, 6)),
    due_on=date(2025, 7, 16),
    prompts=(date(2025, 7, 6),),
)


def gone(*left: tuple[str, str]) -> list[LeftRung]:
    return [LeftRung(rung=rung, left_on=date.fromisoformat(on)) for rung, on in left]


def owed(obligation: Obligation, on: str, *left: tuple[str, str]) -> str | None:
    step = rung_owed(
        ladder=LADDER, obligation=obligation, left=gone(*left), today=date.fromisoformat(on)
    )
    return None if step is None else step.rung.key


def coming(obligation: Obligation, on: str, *left: tuple[str, str]) -> RungStep | None:
    today = date.fromisoformat(on)
    return next_rung(ladder=LADDER, obligation=obligation, left=gone(*left), today=today)


@pytest.mark.parametrize(
    ("on", "rung"),
    [
        ("2025-07-20", None),
        ("2025-07-21", "reminder"),  # 45 days before
        ("2025-08-19", "reminder"),  # late, and nothing later is owed yet
        ("2025-08-20", "second-reminder"),  # 15 days before
        ("2025-09-04", "second-reminder"),  # the due date itself is not overdue
        ("2025-09-05", "first-overdue"),
        ("2028-09-05", "first-overdue"),  # a backlog enters at the first that is never skipped
    ],
)
def test_with_nothing_left_the_day_decides(on: str, rung: str | None) -> None:
    assert owed(OPEN, on) == rung


def test_the_leaving_day_is_not_counted_in_a_gap() -> None:
    # left 1 March, gap 14, earliest 15 March (the example of the design)
    late = OPEN._replace(due_on=date(2025, 2, 1), opens_on=date(2024, 12, 3))
    assert owed(late, "2025-03-14", ("first-overdue", "2025-03-01")) is None
    assert owed(late, "2025-03-15", ("first-overdue", "2025-03-01")) == "second-overdue"


def test_the_whole_ladder_keeps_its_gaps_from_when_each_really_left() -> None:
    left = [("first-overdue", "2025-09-10")]
    step = coming(OPEN, "2025-09-11", *left)
    assert step is not None
    assert (step.rung.key, step.on) == ("second-overdue", date(2025, 9, 24))
    left.append(("second-overdue", "2025-10-01"))
    step = coming(OPEN, "2025-10-02", *left)
    assert step is not None
    assert (step.rung.key, step.on) == ("final", date(2025, 10, 16))  # + 15 days
    assert step.rung.channel == "certified"
    left.append(("final", "2025-10-16"))
    step = coming(OPEN, "2025-10-17", *left)
    assert step is not None
    assert (step.rung.key, step.on) == ("shutoff-order", date(2025, 10, 26))  # + 10 days
    assert step.rung.needs_release
    left.append(("shutoff-order", "2025-10-30"))
    assert coming(OPEN, "2025-11-30", *left) is None


def test_a_rung_that_waits_for_the_one_before_it_is_never_owed_before_it_left() -> None:
    assert owed(OPEN, "2030-01-01") == "first-overdue"
    assert owed(OPEN, "2030-01-02", ("first-overdue", "2030-01-01")) is None


def test_one_rung_a_day_at_most() -> None:
    assert owed(OWED, "2025-08-01") == "test-owed"
    prompted = [LeftRung(rung="test-owed", occurrence="2025-07-06", left_on=date(2025, 8, 1))]
    same_day = rung_owed(ladder=LADDER, obligation=OWED, left=prompted, today=date(2025, 8, 1))
    next_day = rung_owed(ladder=LADDER, obligation=OWED, left=prompted, today=date(2025, 8, 2))
    assert same_day is None
    assert next_day is not None
    assert next_day.rung.key == "first-overdue"


def test_ten_days_after_a_repair_carry_no_reminders() -> None:
    prompted = [LeftRung(rung="test-owed", occurrence="2025-07-06", left_on=date(2025, 7, 6))]
    step = next_rung(ladder=LADDER, obligation=OWED, left=prompted, today=date(2025, 7, 7))
    assert step is not None
    assert (step.rung.key, step.on) == ("first-overdue", date(2025, 7, 17))


def test_a_test_owed_is_owed_once_for_each_prompt() -> None:
    twice = OWED._replace(prompts=(date(2025, 7, 6), date(2025, 7, 9)))
    first = rung_owed(ladder=LADDER, obligation=twice, left=(), today=date(2025, 7, 9))
    assert first is not None
    assert first.occurrence == "2025-07-06"
    left = [LeftRung(rung="test-owed", occurrence="2025-07-06", left_on=date(2025, 7, 8))]
    second = rung_owed(ladder=LADDER, obligation=twice, left=left, today=date(2025, 7, 9))
    assert second is not None
    assert (second.rung.key, second.occurrence) == ("test-owed", "2025-07-09")


def test_courtesy_rungs_passed_over_are_named_once() -> None:
    step = coming(OPEN, "2025-09-05")
    assert step is not None
    assert step.skipped == ("reminder", "second-reminder")
    later = coming(OPEN, "2025-09-20", ("first-overdue", "2025-09-05"))
    assert later is not None
    assert later.skipped == ()


def test_a_courtesy_rung_is_passed_over_for_good_once_a_later_one_left() -> None:
    assert owed(OPEN, "2025-08-25", ("second-reminder", "2025-08-21")) is None


def test_once_failed_the_repair_notice_goes_first_and_no_courtesy_is_owed() -> None:
    assert owed(FAILED, "2025-08-01") == "repair"
    assert owed(FAILED, "2025-12-01") == "repair"  # late, but never skipped
    step = coming(FAILED, "2025-08-02", ("repair", "2025-08-01"))
    assert step is not None
    assert (step.rung.key, step.on) == ("first-overdue", date(2025, 8, 23))  # after cure_by


def test_overdue_rungs_count_from_the_cure_whatever_the_due_date() -> None:
    late = FAILED._replace(failed_on=date(2025, 12, 1), cure_by=date(2025, 12, 22))
    assert owed(late, "2025-12-22", ("repair", "2025-12-01")) is None
    assert owed(late, "2025-12-23", ("repair", "2025-12-01")) == "first-overdue"


def test_a_ladder_begun_goes_on_but_not_before_the_cure() -> None:
    late = FAILED._replace(failed_on=date(2025, 9, 10), cure_by=date(2025, 10, 1))
    left = [("first-overdue", "2025-09-05"), ("repair", "2025-09-10")]
    step = coming(late, "2025-09-11", *left)
    assert step is not None
    assert (step.rung.key, step.on) == ("second-overdue", date(2025, 10, 1))  # 19 Sep held


def test_a_moved_due_date_repeats_nothing_that_left() -> None:
    moved = OPEN._replace(due_on=date(2025, 12, 4), courtesy_is_over=True)
    step = coming(moved, "2025-10-01", ("first-overdue", "2025-09-05"))
    assert step is not None
    assert (step.rung.key, step.on) == ("second-overdue", date(2025, 12, 5))


@pytest.mark.parametrize(
    "changes",
    [
        {"is_suspended": True},
        {"closed_on": date(2025, 9, 1), "is_open": False},
    ],
)
def test_nothing_is_owed_for_what_is_idle_or_closed(changes: dict[str, object]) -> None:
    assert coming(OPEN._replace(**changes), "2026-01-01") is None  # type: ignore[arg-type]


def test_of_a_coming_obligation_the_first_rung_is_told_and_none_is_owed() -> None:
    not_yet = OPEN._replace(is_open=False)
    assert owed(not_yet, "2025-07-01") is None
    step = coming(not_yet, "2025-07-01")
    assert step is not None
    assert (step.rung.key, step.on) == ("reminder", date(2025, 7, 21))


def test_every_step_says_its_arithmetic_and_its_source() -> None:
    step = coming(OPEN, "2025-09-20", ("first-overdue", "2025-09-10"))
    assert step is not None
    (reason,) = step.reasons
    assert reason.arithmetic == "first-overdue left 2025-09-10 + 14 days = 2025-09-24"
    assert reason.citation.startswith("Teaching rulebook plain-rolling, rule 7")


def test_a_rung_is_found_by_its_key() -> None:
    assert LADDER.rung("final").gap_days == 15
    with pytest.raises(KeyError):
        LADDER.rung("seventh")
