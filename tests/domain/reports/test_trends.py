"""The robust slope: against scipy on published data, and silent where too little is known."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import matplotlib
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.trends import Observed, current_run, theil_sen, trend_of

Points = list[tuple[float, float]]


def norris() -> Points:
    """NIST StRD, linear regression, Norris: it comes with scipy."""
    text = (Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat").read_text()
    rows = [line.split() for line in text.splitlines()[60:] if line.strip()]
    return [(float(x), float(y)) for y, x in rows]


def shares() -> Points:
    """A column of daily prices that comes with matplotlib: many days, many ties."""
    path = Path(matplotlib.get_data_path()) / "sample_data" / "msft.csv"
    lines = path.read_text().splitlines()
    return [(float(n), float(row["Close"])) for n, row in enumerate(csv.DictReader(lines))]


@pytest.mark.parametrize("points", [norris(), shares()], ids=["Norris", "prices"])
def test_slope_and_interval_agree_with_scipy_on_published_data(points: Points) -> None:
    ours = theil_sen(points)
    theirs = scipy.stats.theilslopes([y for _, y in points], [x for x, _ in points])
    assert ours.per_year == pytest.approx(theirs.slope)
    assert (ours.low, ours.high) == pytest.approx((theirs.low_slope, theirs.high_slope))


def test_norris_slope_lies_by_the_value_nist_certifies() -> None:
    # NIST certifies least squares: 1.00211681802045. The data are nearly a line, so the median of
    # the pairwise slopes may differ from it by no more than a thousandth.
    assert theil_sen(norris()).per_year == pytest.approx(1.00211681802045, abs=1e-3)


@given(st.dictionaries(st.integers(0, 40), st.integers(0, 60), min_size=3, max_size=25))
def test_slope_agrees_with_scipy_whatever_the_ties(readings: dict[int, int]) -> None:
    points = [(float(x), y / 10) for x, y in sorted(readings.items())]
    ours = theil_sen(points)
    theirs = scipy.stats.theilslopes([y for _, y in points], [x for x, _ in points])
    assert ours.per_year == pytest.approx(theirs.slope, abs=1e-12)
    assert ours.low == pytest.approx(theirs.low_slope, abs=1e-12)
    assert ours.high == pytest.approx(theirs.high_slope, abs=1e-12)


def test_one_wild_reading_does_not_turn_the_slope() -> None:
    # The property the estimate is chosen for: up to 29 % of wild points are borne (Sen 1968).
    steady = [(float(year), 6.0 - 0.2 * year) for year in range(8)]
    wild = [*steady[:5], (5.0, 0.4), *steady[6:]]
    assert theil_sen(wild).per_year == pytest.approx(-0.2)


def seen(year: int, found: float | None, **more: object) -> Observed:
    told = {"found_failing": False, "left": found, "was_repaired": False, **more}
    return Observed(on=date(year, 5, 1), found=found, **told)  # type: ignore[arg-type]


def test_a_repair_starts_the_course_afresh() -> None:
    history = [seen(2018, 6.0), seen(2019, 1.5, left=7.0, was_repaired=True), seen(2020, 6.9)]
    assert [one.on.year for one in current_run(history)] == [2019, 2020]


def test_the_course_falls_where_each_year_reads_lower() -> None:
    history = [seen(2018 + n, 7.0 - 0.3 * n) for n in range(7)]
    slope = trend_of(history).slope
    assert slope is not None
    assert slope.is_clear
    assert slope.per_year == pytest.approx(-0.3, abs=0.01)


def test_three_readings_give_no_slope_and_say_so() -> None:
    trend = trend_of([seen(2020, 6.0), seen(2021, 5.8), seen(2022, 5.6)])
    assert trend.slope is None
    assert trend.why_not == "3 readings: a slope needs 4."


def test_readings_within_a_year_give_no_slope() -> None:
    on = [date(2024, month, 1) for month in (1, 4, 7, 10)]
    trend = trend_of([Observed(on=day, found=5.0, left=5.0) for day in on])
    assert trend.slope is None
    assert "too short" in trend.why_not


def test_a_word_in_place_of_a_figure_is_no_point() -> None:
    history = [seen(2018 + n, 5.0) for n in range(4)]
    history.append(seen(2022, None, found_failing=True, left=None))
    slope = trend_of(history).slope
    assert slope is not None
    assert slope.points == 4
