"""When a day begins, what a wake-up does, and when somebody must be told."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from notices.domain.wakes import Hours, RunSeen, fault_of, wake_of

PACIFIC = Hours(zone="America/Los_Angeles", begins_at=5)
LOS_ANGELES = ZoneInfo("America/Los_Angeles")
DAY = date(2026, 7, 1)
NOON = datetime(2026, 7, 1, 12, tzinfo=LOS_ANGELES)
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


def run(on: date = DAY, *, at: datetime = NOON - timedelta(hours=7), good: bool = True) -> RunSeen:
    return RunSeen(as_of=on, started_at=at, is_finished=good)


def days_begun(hours: Hours, *, first: datetime, until: datetime) -> list[date]:
    """The days a clock that is asked every ten minutes sees begin, in order."""
    seen: list[date] = []
    moment = first
    while moment <= until:
        day = hours.day_begun(moment)
        if not seen or seen[-1] != day:
            seen.append(day)
        moment += timedelta(minutes=10)
    return seen


def test_a_day_begins_at_its_hour_and_not_at_midnight() -> None:
    assert PACIFIC.day_begun(datetime(2026, 7, 1, 4, 59, tzinfo=LOS_ANGELES)) == date(2026, 6, 30)
    assert PACIFIC.day_begun(datetime(2026, 7, 1, 5, 0, tzinfo=LOS_ANGELES)) == DAY


@pytest.mark.parametrize("begins_at", [0, 1, 2, 3, 5, 23])
@pytest.mark.parametrize("night", [date(2026, 3, 8), date(2026, 11, 1)])
def test_each_day_begins_once_in_the_nights_the_clocks_change(night: date, begins_at: int) -> None:
    # United States: 2026-03-08 has no 02:00 to 02:59, 2026-11-01 has 01:00 to 01:59 twice.
    noon = datetime(night.year, night.month, night.day, 20, tzinfo=UTC)
    hours = Hours(zone="America/Los_Angeles", begins_at=begins_at)
    seen = days_begun(hours, first=noon - timedelta(days=2), until=noon + timedelta(days=2))
    assert seen == sorted(set(seen))
    assert night in seen
    assert seen[-1] - seen[0] == timedelta(days=len(seen) - 1)


def test_two_programs_in_two_zones_each_have_their_own_day() -> None:
    guam = Hours(zone="Pacific/Guam", begins_at=5)
    moment = datetime(2026, 6, 30, 19, 30, tzinfo=UTC)  # 05:30 on July 1 in Guam
    assert guam.day_begun(moment) == DAY
    assert PACIFIC.day_begun(moment) == date(2026, 6, 30)


def test_a_day_not_run_is_run() -> None:
    assert wake_of(hours=PACIFIC, runs=[], now=NOON).day == DAY


def test_a_day_already_run_is_run_again_for_what_arrived_since() -> None:
    wake = wake_of(hours=PACIFIC, runs=[run()], now=NOON)
    assert (wake.day, wake.why) == (DAY, "what arrived since")


def test_before_the_hour_nothing_is_run() -> None:
    early = datetime(2026, 7, 1, 4, 50, tzinfo=LOS_ANGELES)
    assert wake_of(hours=PACIFIC, runs=[run(date(2026, 6, 30))], now=early).day is None


def test_after_five_days_off_only_today_is_run() -> None:
    old = run(date(2026, 6, 25), at=NOON - timedelta(days=6))
    assert wake_of(hours=PACIFIC, runs=[old], now=NOON).day == DAY


def test_a_run_under_way_holds_the_next_wake_up_back_until_its_lease_ends() -> None:
    under_way = run(at=NOON - timedelta(minutes=10), good=False)
    assert wake_of(hours=PACIFIC, runs=[under_way], now=NOON).why == "a run is under way"
    later = NOON + timedelta(minutes=21)
    assert wake_of(hours=PACIFIC, runs=[under_way], now=later).day == DAY


def test_a_day_whose_run_died_three_times_waits_for_a_person() -> None:
    dead = [run(at=NOON - timedelta(hours=hours), good=False) for hours in (1, 2, 3)]
    assert wake_of(hours=PACIFIC, runs=dead, now=NOON).day is None
    assert wake_of(hours=PACIFIC, runs=dead[:2], now=NOON).day == DAY
    assert wake_of(hours=PACIFIC, runs=[run(), *dead], now=NOON).day == DAY


def test_a_clock_set_back_runs_nothing_and_is_told() -> None:
    runs = [run(date(2026, 7, 2), at=NOON + timedelta(days=1))]
    assert wake_of(hours=PACIFIC, runs=runs, now=NOON).day is None
    fault = fault_of(
        hours=PACIFIC,
        last_good=date(2026, 7, 2),
        last_start=NOON + timedelta(days=1),
        since=LONG_AGO,
        now=NOON,
    )
    assert "stands before the last run (2026-07-02 12:00)" in fault


def fault(last_good: date | None, *, now: datetime, since: datetime = LONG_AGO) -> str:
    return fault_of(hours=PACIFIC, last_good=last_good, last_start=None, since=since, now=now)


def test_a_missing_day_is_told_an_hour_after_it_began() -> None:
    yesterday = date(2026, 6, 30)
    assert fault(yesterday, now=datetime(2026, 7, 1, 5, 59, tzinfo=LOS_ANGELES)) == ""
    late = fault(yesterday, now=datetime(2026, 7, 1, 6, 0, tzinfo=LOS_ANGELES))
    assert late == "the day 2026-07-01 was not run; the last one run is 2026-06-30"
    assert fault(DAY, now=NOON) == ""


def test_a_program_made_in_the_night_owes_its_first_run_when_its_day_has_begun() -> None:
    made = datetime(2026, 7, 1, 1, 0, tzinfo=LOS_ANGELES)
    assert fault(None, now=datetime(2026, 7, 1, 4, 0, tzinfo=LOS_ANGELES), since=made) == ""
    assert "none was ever run" in fault(None, now=NOON, since=made)


def test_a_program_made_after_its_hour_owes_a_run_within_the_hour() -> None:
    made = NOON - timedelta(minutes=59)
    assert fault(None, now=NOON, since=made) == ""
    assert "none was ever run" in fault(None, now=NOON + timedelta(minutes=2), since=made)
