"""The quality watch: odds against scipy's, cases by hand, and simulated programs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.watch import Seen, Watch
from reports.domain.watch_digits import two_samples
from reports.domain.watch_jumps import jumps_without_repair
from reports.domain.watch_odds import (
    binomial_at_least,
    binomial_at_most,
    binomial_limits,
    chi_square_at_least,
    poisson_at_least,
)
from reports.domain.watch_rates import rates
from reports.domain.watch_repeats import repeated_readings
from reports.domain.watch_times import impossible_times, km_between
from tests.domain.reports.simulated_programs import (
    PER_TESTER,
    Score,
    honest_program,
    scores,
)

DOCS = Path(__file__).resolve().parents[3] / "docs" / "quality-watch.md"
scored = cache(scores)


@given(st.integers(0, 60), st.integers(1, 60), st.floats(0.001, 0.999))
def test_binomial_tails_are_scipys(count: int, of: int, share: float) -> None:
    binom = scipy.stats.binom(of, share)
    assert binomial_at_most(count, of=of, share=share) == pytest.approx(binom.cdf(count), abs=1e-9)
    assert binomial_at_least(count, of=of, share=share) == pytest.approx(
        binom.sf(count - 1), abs=1e-9
    )


@given(st.integers(20, 400), st.floats(0.01, 0.5))
def test_the_funnel_holds_what_scipys_exact_test_would_keep(of: int, share: float) -> None:
    low, high = binomial_limits(of=of, share=share, alarm=0.002)
    binom = scipy.stats.binom(of, share)
    assert binom.cdf(low - 1) <= 0.001 + 1e-9
    assert binom.cdf(low) > 0.001 - 1e-9
    assert binom.sf(high) <= 0.001 + 1e-9
    assert binom.sf(high - 1) > 0.001 - 1e-9
    if low > 0:
        told = scipy.stats.binomtest(low - 1, of, share, alternative="less")
        assert told.pvalue <= 0.001 + 1e-9


@given(st.integers(0, 40), st.floats(0.001, 60))
def test_poissons_tail_is_scipys(count: int, mean: float) -> None:
    theirs = scipy.stats.poisson(mean).sf(count - 1)
    assert poisson_at_least(count, mean=mean) == pytest.approx(theirs, rel=1e-6, abs=1e-12)


@given(st.floats(0.01, 120), st.integers(1, 12))
def test_the_chi_square_tail_is_scipys(value: float, freedom: int) -> None:
    theirs = scipy.stats.chi2(freedom).sf(value)
    assert chi_square_at_least(value, freedom=freedom) == pytest.approx(theirs, rel=1e-6, abs=1e-14)


@given(st.lists(st.tuples(st.integers(20, 90), st.integers(20, 90)), min_size=10, max_size=10))
def test_two_rows_of_digits_are_weighed_as_scipy_weighs_a_table(
    pairs: list[tuple[int, int]],
) -> None:
    mine, others = [a for a, _ in pairs], [b for _, b in pairs]
    value, freedom = two_samples(mine, others)
    theirs = scipy.stats.chi2_contingency([mine, others], correction=False)
    assert value == pytest.approx(theirs.statistic)
    assert freedom == theirs.dof


def seen(test_id: int, **more: object) -> Seen:
    told: dict[str, object] = {
        "test_id": test_id,
        "on": date(2026, 5, 4),
        "at": time(9),
        "assembly_id": test_id,
        "type": "DC",
        "premises_id": test_id,
        "lat": 46.5,
        "lon": -118.5,
        "tester": "T-1",
        "gauge": "G-1",
        "figures": (("check1", Decimal("1.8")), ("check2", Decimal("1.7"))),
        "left": (),
        "found_failing": False,
        "was_repaired": False,
        **more,
    }
    return Seen(**told)  # type: ignore[arg-type]


def test_a_degree_of_latitude_is_sixty_sea_miles() -> None:
    # 60 nautical miles of 1.852 km: 111.12 km, on a sphere of 6,371 km 111.19.
    north = seen(2, lat=47.5)
    assert km_between(seen(1), north) == pytest.approx(111.19, abs=0.01)


@pytest.mark.parametrize(
    ("lat", "at", "told"),
    [
        (46.9, time(9, 5), 1),  # 44.5 km in 5 minutes; 24 at 110 km/h, less 10 of slack
        (46.9, time(9, 15), 0),  # 15 minutes and 10 of slack are enough for 24
        (46.9, time(9, 14), 1),
        (46.52, time(9, 0), 0),  # 2 km and the same minute: within the slack
        (46.5, time(9, 0), 0),  # next door
    ],
)
def test_a_tester_cannot_be_in_two_places(lat: float, at: time, told: int) -> None:
    found = list(impossible_times([seen(1), seen(2, lat=lat, at=at, gauge="G-2")]))
    assert len(found) == told


def test_a_gauge_in_two_hands_far_apart_is_told_once() -> None:
    (one,) = impossible_times([seen(1), seen(2, lat=46.9, at=time(9, 5), tester="T-2")])
    assert one.about == "gauge G-1"
    (same,) = impossible_times([seen(1), seen(2, lat=46.9, at=time(9, 5))])
    assert same.about == "tester T-1"


def test_times_on_two_days_or_without_a_place_say_nothing() -> None:
    far = seen(2, lat=46.9, at=time(9, 5))
    assert list(impossible_times([seen(1), replace(far, on=date(2026, 5, 5))])) == []
    assert list(impossible_times([seen(1), replace(far, lat=None)])) == []
    assert list(impossible_times([seen(1), replace(far, at=None)])) == []


def courses(*, rise: str, was_repaired: bool) -> list[Seen]:
    """Forty quiet assemblies tested twice, and one whose check 1 rises."""
    told = []
    for place in range(41):
        first = seen(place * 2, assembly_id=place, on=date(2025, 5, 4))
        told.append(first)
        second = replace(first, test_id=place * 2 + 1, on=date(2026, 5, 4))
        drop = (("check1", Decimal("1.6")), ("check2", Decimal("1.7")))
        told.append(replace(second, figures=drop))
    up = (("check1", Decimal(rise)), ("check2", Decimal("1.7")))
    told[-1] = replace(told[-1], figures=up)
    if was_repaired:
        told[-2] = replace(told[-2], left=up, was_repaired=True)
    return told


@pytest.mark.parametrize(
    ("rise", "was_repaired", "told"), [("4.1", False, 1), ("4.1", True, 0), ("2.8", False, 0)]
)
def test_a_rise_is_told_unless_a_repair_or_the_usual_change_explains_it(
    rise: str, was_repaired: bool, told: int
) -> None:
    # The usual change is 1.4826 x 0.2; six times that is 1.78: 2.3 is more, 1.0 is not.
    assert len(list(jumps_without_repair(courses(rise=rise, was_repaired=was_repaired)))) == told


def test_like_assemblies_on_one_pipe_are_no_repeat() -> None:
    others = [seen(1000 + n, tester="T-2", figures=_other(n)) for n in range(300)]
    same = [seen(n, premises_id=7) for n in range(12)]
    assert list(repeated_readings([*same, *others])) == []
    (told,) = repeated_readings([*(seen(n) for n in range(12)), *others])
    assert (told.about, len(told.tests)) == ("T-1", 12)


def _other(n: int) -> tuple[tuple[str, Decimal], ...]:
    return (("check1", Decimal(10 + n % 17) / 10), ("check2", Decimal(11 + n % 13) / 10))


def test_no_words_accuse() -> None:
    # Our own rule: "look at", never a verdict on a person.
    pattern = re.compile(r"fraud|fake|false|cheat|suspic|falsif|dishonest", re.IGNORECASE)
    for path in (Path(__file__).resolve().parents[3] / "reports").rglob("*watch*"):
        if path.suffix in {".py", ".html"}:
            assert not pattern.search(path.read_text(encoding="utf-8").replace("False", "")), path


def test_rates_expect_what_others_find_type_by_type() -> None:
    # By hand: others fail 20 of 100 DC, so 50 DC expect 50 x 20.5 / 101 = 10.1.
    mine = [seen(n) for n in range(50)]
    others = [seen(100 + n, tester="T-2", found_failing=n < 20) for n in range(100)]
    (one,) = [rate for rate in rates([*mine, *others]) if rate.tester == "T-1"]
    assert one.expected == pytest.approx(10.15, abs=0.01)
    assert one.is_outside


@pytest.mark.slow
@pytest.mark.parametrize("watch", Watch)
def test_planted_cases_are_found_and_honest_testers_left_alone(watch: Watch) -> None:
    score = scored()[watch]
    assert score.found >= 0.9 * score.planted
    assert score.alarms <= 0.01 * score.honest


@pytest.mark.slow
def test_the_docs_show_the_scores_as_they_come_out() -> None:
    rows = DOCS.read_text(encoding="utf-8").splitlines()
    for watch, score in scored().items():
        assert _row(watch, score) in rows


def _row(watch: Watch, score: Score) -> str:
    counted = "testers" if watch in PER_TESTER else "reports"
    return (
        f"| {watch} | {score.found} of {score.planted} |"
        f" {score.alarms} of {score.honest:,} {counted} |"
    )


def test_a_program_without_reports_has_nothing_to_look_at() -> None:
    nothing: Sequence[Seen] = []
    assert rates(nothing) == []
    assert list(impossible_times(nothing)) == []
    assert len(honest_program(1).reports) == 3000
