"""The chance of falling below: calibrated on simulated towns, silent where peers are few."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from registry.domain.kinds import AssemblyType
from reports.domain.risk import (
    LEAST_STEPS,
    AgeBand,
    Chance,
    Kin,
    SizeBand,
    Step,
    Unknown,
    at_least_one,
    chance_of_falling,
    steps_of,
)
from reports.domain.trends import Observed
from tests.domain.reports.simulated_histories import TOWNS, Decile, deciles, forecasts
from tests.domain.reports.test_trends import norris

DOCS = Path(__file__).resolve().parents[3] / "docs" / "trends.md"
KIN = Kin(type=AssemblyType.RP, size=SizeBand.SMALL, age=AgeBand.NEW)

told_in = cache(forecasts)


@pytest.mark.slow
@pytest.mark.parametrize("town", TOWNS)
def test_what_is_told_happens_as_often_in_every_decile(town: str) -> None:
    table = deciles(told_in(town))
    assert sum(one.count for one in table) > 1900
    assert [one for one in table if not one.is_within] == []


@pytest.mark.slow
@pytest.mark.parametrize("town", TOWNS)
def test_the_chance_is_worth_more_than_the_town_s_own_share(town: str) -> None:
    told = told_in(town)
    share = np.mean([fell for _, fell in told])
    score = np.mean([(chance - fell) ** 2 for chance, fell in told])
    assert score < share * (1 - share)


@pytest.mark.slow
@pytest.mark.parametrize(
    "wrong",
    [lambda chance: min(2 * chance + 0.05, 1.0), lambda chance: chance / 3],
    ids=["too much", "too little"],
)
def test_a_forecast_that_is_off_breaks_the_bounds(wrong: Callable[[float], float]) -> None:
    table = deciles([(wrong(chance), fell) for chance, fell in told_in("hard water")])
    assert [one for one in table if not one.is_within] != []


@pytest.mark.slow
def test_the_docs_show_the_table_as_it_comes_out() -> None:
    text = DOCS.read_text(encoding="utf-8")
    for town in TOWNS:
        rows = re.search(rf"### {town}\n\n.*?\n((?:\|[^\n]*\n)+)", text, re.DOTALL)
        assert rows is not None, town
        assert rows.group(1).splitlines()[2:] == [as_row(one) for one in deciles(told_in(town))]


def as_row(one: Decile) -> str:
    return f"| {one.count} | {100 * one.told:.1f} % | {100 * one.seen:.1f} % |"


def step(last: float, found: float | None, *, before: float | None = None) -> Step:
    return Step(
        kin=KIN, years=1.0, last=last, before=before, found=found, fell_in_words=found is None
    )


def at(year: int, figure: float) -> Observed:
    return Observed(on=date(year, 5, 1), found=figure, left=figure)


def asked(peers: list[Step], *, last: float = 3.0, limit: float = 2.0) -> Chance | Unknown:
    day = date(2026, 5, 1)
    return chance_of_falling([at(2025, last)], kin=KIN, limit=limit, next_on=day, peers=peers)


def test_with_few_peers_no_number_is_given() -> None:
    told = asked([step(3.0, 2.9)] * (LEAST_STEPS - 1))
    assert isinstance(told, Unknown)
    assert str(LEAST_STEPS) in told.why


def test_without_a_figure_to_go_on_from_no_number_is_given() -> None:
    history = [Observed(on=date(2025, 5, 1), found=None, found_failing=True)]
    told = chance_of_falling(
        history, kin=KIN, limit=2.0, next_on=date(2026, 5, 1), peers=[step(3.0, 2.9)] * 200
    )
    assert isinstance(told, Unknown)


def test_the_line_through_the_peers_is_the_one_nist_certifies() -> None:
    # NIST StRD, Norris: intercept -0.262323073774029, slope 1.00211681802045. A limit on the
    # certified line is fallen below by as many as lie under it; all its figures are tenths, so
    # half a tenth is allowed for.
    peers = [step(x, y) for x, y in norris()] * 3
    line = scipy.stats.linregress([x for x, _ in norris()], [y for _, y in norris()])
    certified = -0.262323073774029 + 1.00211681802045 * 500.0
    assert line.slope == pytest.approx(1.00211681802045)
    under = sum(1 for x, y in norris() if y < -0.262323073774029 + 1.00211681802045 * x)
    told = asked(peers, last=500.0, limit=certified + 0.05)
    assert isinstance(told, Chance)
    assert told.fell == 3 * under


def test_peers_that_failed_in_words_count_as_fallen() -> None:
    told = asked([step(3.0, 2.9)] * 90 + [step(3.0, None)] * 10)
    assert isinstance(told, Chance)
    assert told.fell == 10
    assert 0.09 < told.share < 0.13


def test_a_lower_reading_never_has_the_smaller_chance() -> None:
    rng = np.random.default_rng(7)
    peers = [step(last, last - 0.1 + rng.normal(0, 0.4)) for last in rng.uniform(2, 5, 300)]
    shares = [told.share for last in (4.0, 3.0, 2.4, 2.1) if isinstance(told := asked(
        peers, last=last), Chance)]  # fmt: skip
    assert shares == sorted(shares)
    assert len(shares) == 4


def test_steps_start_afresh_at_a_repair_and_leave_long_gaps_out() -> None:
    history = [
        at(2010, 4.0),
        at(2011, 3.9),
        Observed(on=date(2012, 5, 1), found=1.5, left=4.2, was_repaired=True),
        at(2013, 4.1),
        at(2014, 4.0),
        at(2024, 3.0),
    ]
    told = list(steps_of(history, type_=AssemblyType.RP, size_in=1.0, installed_on=None))
    assert [(one.last, one.before, one.found) for one in told] == [
        (4.0, None, 3.9),
        (3.9, 4.0, 1.5),
        (4.2, None, 4.1),
        (4.1, 4.2, 4.0),
    ]
    assert {one.kin.age for one in told} == {AgeBand.UNKNOWN}


def test_several_readings_together_are_worked_out_as_independent() -> None:
    # Arithmetic: 1 - 0.9 x 0.8.
    assert at_least_one([0.1, 0.2]) == pytest.approx(0.28)
