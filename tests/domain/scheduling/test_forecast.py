"""Letters in the months to come, worked by hand; the days by days_after and the ladder itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from scheduling.domain.comparing import Comparison, Side
from scheduling.domain.forecast import Course, Forecast, Window, climbed, left_by_then
from scheduling.domain.obligations import Obligation, ObligationKey, Origin
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import read_rulebook

FOLDER = Path(__file__).parents[3] / "fixtures" / "rulebooks"
TODAY = date(2025, 11, 25)


def book() -> Rulebook:
    return read_rulebook((FOLDER / "plain-rolling.toml").read_text(encoding="utf-8"))


def owed(*, opens_on: date, due_on: date) -> Obligation:
    return Obligation(
        key=ObligationKey("test", Origin.CYCLE, opens_on, due_on),
        opens_on=opens_on,
        due_on=due_on,
        is_open=opens_on <= TODAY,
        rule="cycle yearly",
        citation="c",
        rulebook="plain-rolling",
    )


def letters_of(obligation: Obligation) -> dict[str, int]:
    window = Window(start=TODAY)
    rulebook = book()
    found = Forecast(window).letters(
        obligation=obligation,
        course=Course(rule=rulebook.cycles[1], ladder=rulebook.ladder),
    )
    return {month: n for month, n in zip(window.labels, found, strict=True) if n}


def test_a_year_brings_its_two_reminders_and_the_next_its_own() -> None:
    """Due 2026-03-04: 45 days before is 2026-01-18, 15 days before 2026-02-17; then yearly."""
    found = letters_of(owed(opens_on=date(2026, 1, 3), due_on=date(2026, 3, 4)))
    assert found == {"2026-01": 1, "2026-02": 1, "2027-01": 1, "2027-02": 1}


def test_what_is_overdue_climbs_for_thirty_days_and_is_then_passed() -> None:
    """Overdue rung 2025-11-25, second 14 days on 2025-12-09, final 15 on 2025-12-24; passed
    2025-12-25, next due 2026-12-25: reminders 2026-11-10 and 2026-12-10."""
    found = letters_of(owed(opens_on=date(2025, 7, 6), due_on=date(2025, 9, 4)))
    assert found == {"2025-11": 1, "2025-12": 2, "2026-11": 1, "2026-12": 1}


def test_what_left_before_the_day_is_not_counted_again() -> None:
    """Open since 2025-10-01, due 2025-11-30: both reminders' days are gone by."""
    obligation = owed(opens_on=date(2025, 10, 1), due_on=date(2025, 11, 30))
    left = left_by_then(
        ladder=book().ladder, obligation=obligation, live_from=date(2025, 1, 1), day=TODAY
    )
    assert [(one.rung, one.left_on) for one in left] == [
        ("reminder", date(2025, 10, 16)),
        ("second-reminder", date(2025, 11, 15)),
    ]
    assert left_by_then(
        ladder=book().ladder, obligation=obligation, live_from=None, day=TODAY
    ) == ()  # fmt: skip


def test_the_ladder_is_climbed_one_rung_a_day_at_most() -> None:
    obligation = owed(opens_on=date(2025, 7, 6), due_on=date(2025, 9, 4))
    steps = climbed(
        ladder=book().ladder, obligation=obligation, left=(), start=TODAY, until=date(2026, 6, 1)
    )
    days = [step.on for step in steps]
    assert [step.rung.key for step in steps] == [
        "first-overdue", "second-overdue", "final", "shutoff-order",
    ]  # fmt: skip
    assert days == sorted(set(days))


def test_the_window_has_twenty_four_months_from_the_day() -> None:
    window = Window(start=date(2025, 11, 30))
    assert (window.labels[0], window.labels[-1]) == ("2025-11", "2027-10")
    assert window.end == date(2027, 11, 1)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (-366, "more than a year earlier"),
        (-365, "6 to 12 months earlier"),
        (-30, "up to a month earlier"),
        (1, "up to a month later"),
        (181, "3 to 6 months later"),
        (366, "more than a year later"),
    ],
)
def test_every_move_falls_in_one_span(days: int, words: str) -> None:
    found = Comparison(effective_on=TODAY, moved_by={days: 3})  # type: ignore[arg-type]
    assert {one.words: one.dates for one in found.buckets if one.dates} == {words: 3}


def test_what_begins_and_what_ends_is_no_move() -> None:
    found = Comparison(effective_on=TODAY)
    nothing = Side(due_on=None, is_overdue=False, letters=found.window.none)
    something = Side(due_on=TODAY, is_overdue=False, letters=found.window.none)
    found.add(now=nothing, then=something, times=2)
    found.add(now=something, then=nothing)
    found.add(now=nothing, then=nothing)
    assert (found.begins, found.ends, found.moved, found.same) == (2, 1, 0, 0)


def test_working_days_of_a_ladder_skip_the_days_the_office_is_closed() -> None:
    """Overdue: the first rung on Tuesday 2025-11-25, the second three working days after it left:
    26, 28 November, 1 December where Thanksgiving (5 U.S.C. 6103) is closed; else the 28th."""
    rungs = tuple(
        replace(rung, gap_days=3, is_working=True) if rung.key == "second-overdue" else rung
        for rung in book().ladder.rungs
    )
    course = Course(rule=None, ladder=replace(book().ladder, rungs=rungs))
    obligation = owed(opens_on=date(2025, 7, 6), due_on=date(2025, 9, 4))
    found = {
        closed: Forecast(Window(start=TODAY, months=2), closed).letters(
            obligation=obligation, course=course
        )
        for closed in ((), (date(2025, 11, 27),))
    }
    assert found[()] == (2, 1)
    assert found[(date(2025, 11, 27),)] == (1, 2)
