"""Shares of failures as found, outside a funnel of exact binomial limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reports.domain.watch import Seen, Sighting, Watch, by_tester
from reports.domain.watch_odds import binomial_at_least, binomial_at_most, binomial_limits

ALARM = 0.002
"""Two-sided: the 99.8 % limits that funnels are drawn with (Spiegelhalter, 2005)."""

LEAST_TESTS = 20


@dataclass(frozen=True, kw_only=True)
class Rate:
    """One tester's failures as found against what the others' shares, type by type, expect."""

    tester: str
    tests: int
    failed: int
    expected: float
    low: int
    high: int
    odds: float

    @property
    def is_outside(self) -> bool:
        """Whether the count lies outside the limits."""
        return not self.low <= self.failed <= self.high


def rates(reports: Sequence[Seen]) -> list[Rate]:
    """The rate of every tester with enough tests, by name."""
    failed = Counter(one.type for one in reports if one.found_failing)
    whole = Counter(one.type for one in reports)
    return [
        rate
        for tester, some in sorted(by_tester(reports).items())
        if len(some) >= LEAST_TESTS and (rate := _rate(tester, some, whole, failed)) is not None
    ]


def outside_the_funnel(reports: Sequence[Seen]) -> Iterator[Sighting]:
    """Testers whose share of failures as found lies outside the limits."""
    for rate in rates(reports):
        if rate.is_outside:
            yield Sighting(
                watch=Watch.RATES,
                about=rate.tester,
                words=f"{rate.failed} of {rate.tests:,} failed as found; by other testers' shares,"
                f" type by type, {rate.expected:.1f} would be expected, and between {rate.low} and"
                f" {rate.high} lie 99.8 %",
                by_chance=rate.odds,
                tests=(),
            )


def _rate(
    tester: str, mine: Sequence[Seen], whole: Counter[str], failed: Counter[str]
) -> Rate | None:
    tests = Counter(one.type for one in mine)
    fell = Counter(one.type for one in mine if one.found_failing)
    others = {type_: whole[type_] - n for type_, n in tests.items()}
    if any(n < LEAST_TESTS for n in others.values()):
        # A type that nobody else tests has no measure: it is left out.
        tests = Counter({type_: n for type_, n in tests.items() if others[type_] >= LEAST_TESTS})
    count = sum(tests.values())
    if count < LEAST_TESTS:
        return None
    expected = sum(
        n * (failed[type_] - fell[type_] + 0.5) / (others[type_] + 1) for type_, n in tests.items()
    )
    seen = sum(fell[type_] for type_ in tests)
    share = expected / count
    low, high = binomial_limits(of=count, share=share, alarm=ALARM)
    tail = min(
        binomial_at_most(seen, of=count, share=share),
        binomial_at_least(seen, of=count, share=share),
    )
    return Rate(
        tester=tester,
        tests=count,
        failed=seen,
        expected=expected,
        low=low,
        high=high,
        odds=min(2 * tail, 1.0),
    )
