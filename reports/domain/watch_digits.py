"""Last figures: a tester whose tenths fall otherwise than those of all others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from reports.domain.watch import Seen, Sighting, Watch, by_tester
from reports.domain.watch_odds import chi_square_at_least

ALARM = 0.001
LEAST_READINGS = 100
LEAST_EXPECTED = 5.0
"""Below five expected in a cell the chi-square is no good measure (Cochran, 1954)."""

_DIGITS = range(10)


def digit_preference(reports: Sequence[Seen]) -> Iterator[Sighting]:
    """Testers whose last figures differ from the others' by chi-square, at 1 in 1,000.

    The others are the measure, not an even spread: gauges that are read to the nearest mark make
    some figures commoner for everybody. Readings with one decimal only.
    """
    told = {tester: _counts(some) for tester, some in by_tester(reports).items()}
    whole = [sum(counts[digit] for counts in told.values()) for digit in _DIGITS]
    for tester, mine in sorted(told.items()):
        others = [a - b for a, b in zip(whole, mine, strict=True)]
        if sum(mine) < LEAST_READINGS or sum(others) < LEAST_READINGS:
            continue
        value, freedom = two_samples(mine, others)
        odds = chi_square_at_least(value, freedom=freedom) if freedom else 1.0
        if odds < ALARM:
            yield Sighting(
                watch=Watch.DIGITS,
                about=tester,
                words=_words(mine, others=others),
                by_chance=odds,
                tests=(),
            )


def two_samples(mine: Sequence[int], others: Sequence[int]) -> tuple[float, int]:
    """The chi-square of two rows of counts and its degrees of freedom.

    Columns in which fewer than five are expected are put together.
    """
    a_whole, b_whole = sum(mine), sum(others)
    columns: list[tuple[int, int]] = []
    rare = (0, 0)
    for a, b in zip(mine, others, strict=True):
        if (a + b) * min(a_whole, b_whole) / (a_whole + b_whole) < LEAST_EXPECTED:
            rare = (rare[0] + a, rare[1] + b)
        else:
            columns.append((a, b))
    if sum(rare):
        columns.append(rare)
    value = 0.0
    for a, b in columns:
        for count, whole in ((a, a_whole), (b, b_whole)):
            expected = (a + b) * whole / (a_whole + b_whole)
            value += (count - expected) ** 2 / expected
    return value, len(columns) - 1


def _counts(reports: Sequence[Seen]) -> list[int]:
    counts = [0] * 10
    for one in reports:
        for _, figure in one.figures:
            if figure.as_tuple().exponent == -1:
                counts[int(figure * 10 % 10)] += 1
    return counts


def _words(mine: Sequence[int], *, others: Sequence[int]) -> str:
    def share(counts: Sequence[int], digit: int) -> Decimal:
        return Decimal(100 * counts[digit]) / sum(counts)

    most = max(_DIGITS, key=lambda digit: share(mine, digit) - share(others, digit))
    return (
        f"{sum(mine):,} readings in tenths: {share(mine, most):.0f} % end in {most}, of other"
        f" testers' {share(others, most):.0f} %"
    )
