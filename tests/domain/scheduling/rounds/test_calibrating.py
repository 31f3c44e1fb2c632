"""The pace of past drives, worked out by hand."""

from __future__ import annotations

import pytest

from scheduling.domain.rounds.calibrating import ENOUGH_DAYS, ENOUGH_DRIVES, Drive, pace_of


def drives(*ratios: float, days: int = ENOUGH_DAYS) -> list[Drive]:
    return [Drive(f"T-{number % days}", 10, 10 * ratio) for number, ratio in enumerate(ratios)]


def test_the_pace_is_the_middle_of_what_drives_took_over_what_was_expected() -> None:
    # 20 at 1.2, 21 at 1.5, 20 at 4.0 (a lunch in between): the 31st of 61 is 1.5, the mean 2.2.
    told = pace_of(drives(*[1.2] * 20, *[1.5] * 21, *[4.0] * 20))
    assert told is not None
    assert (told.times, told.drives, told.days) == (1.5, 61, ENOUGH_DAYS)


def test_too_few_drives_or_days_say_nothing() -> None:
    assert pace_of(drives(*[1.2] * (ENOUGH_DRIVES - 1))) is None
    assert pace_of(drives(*[1.2] * ENOUGH_DRIVES, days=ENOUGH_DAYS - 1)) is None
    assert pace_of([]) is None


def test_drives_round_the_corner_and_times_that_run_backwards_do_not_count() -> None:
    short = [Drive("T-1", 3, 30)] * 100
    backwards = [Drive("T-1", 10, -5), Drive("T-1", 10, 0)] * 100
    told = pace_of([*drives(*[1.2] * ENOUGH_DRIVES), *short, *backwards])
    assert told is not None
    assert told.times == pytest.approx(1.2)
    assert told.drives == ENOUGH_DRIVES


@pytest.mark.parametrize(("ratio", "times"), [(9.0, 2.5), (0.1, 0.5)])
def test_no_pace_leaves_its_bounds(ratio: float, times: float) -> None:
    told = pace_of(drives(*[ratio] * ENOUGH_DRIVES))
    assert told is not None
    assert told.times == times
