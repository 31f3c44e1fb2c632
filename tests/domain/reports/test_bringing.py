"""How many kits are enough: the quantile of a Poisson-binomial count, against scipy's."""

from __future__ import annotations

from decimal import Decimal

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.bringing import Need, Part, bring_list, enough, need_distribution

CHANCES = st.lists(st.floats(0, 1), min_size=1, max_size=12)


@given(CHANCES)
def test_the_distribution_is_scipys(chances: list[float]) -> None:
    theirs = scipy.stats.poisson_binom(chances)
    ours = need_distribution(chances)
    assert ours == pytest.approx([theirs.pmf(k) for k in range(len(chances) + 1)], abs=1e-9)


@given(CHANCES, st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_the_count_is_the_least_that_is_enough(chances: list[float], confidence: float) -> None:
    theirs = scipy.stats.poisson_binom(chances)
    count = enough(chances, confidence=confidence)
    assert theirs.cdf(count) >= confidence - 1e-9
    assert count == 0 or theirs.cdf(count - 1) < confidence + 1e-9


def test_three_at_one_half_need_three_at_ninety_per_cent() -> None:
    # By hand: at most 2 of 3 with probability 7/8 = 0.875, at most 3 always.
    assert enough([0.5, 0.5, 0.5], confidence=0.9) == 3
    assert enough([0.5, 0.5, 0.5], confidence=0.875) == 2


def test_what_surely_fails_is_counted_in_full() -> None:
    assert enough([1.0, 1.0, 0.01], confidence=0.9) == 2


def test_nothing_to_need_needs_nothing() -> None:
    assert enough([], confidence=0.9) == 0
    assert bring_list([], confidence=0.9) == ()


@pytest.mark.parametrize("confidence", [0, 1, 90])
def test_a_confidence_that_is_no_probability_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        enough([0.5], confidence=confidence)


def need(kit: float | None, seat: float | None, model: str = "N-40") -> Need:
    return Need(
        type="RP", size_in=Decimal("1.5"), maker="Northfork", model=model, kit=kit, seat=seat
    )


def test_a_kit_is_counted_by_model() -> None:
    lines = bring_list([need(1.0, 0.0), need(1.0, 0.0, "N-41")], confidence=0.9)
    kits = [(one.model, one.count) for one in lines if one.part is Part.KIT]
    assert kits == [("N-40", 1), ("N-41", 1)]


def test_an_unknown_chance_adds_nothing_and_is_told() -> None:
    lines = bring_list([need(None, None), need(0.02, 0.02)], confidence=0.9)
    assert [(one.part, one.count, one.unknown) for one in lines] == [
        (Part.KIT, 0, 1),
        (Part.SEAT, 0, 1),
        (Part.FITTINGS, 1, 0),
    ]


def test_a_small_chance_brings_no_kit_and_one_set_of_fittings() -> None:
    (line,) = bring_list([need(0.02, 0.01)] * 3, confidence=0.9)
    assert (line.part, line.count, line.assemblies) == (Part.FITTINGS, 1, 3)
