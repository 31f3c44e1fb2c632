"""Exact odds: tails of the binomial, Poisson and chi-square distributions, from their sums."""

from __future__ import annotations

from math import erfc, exp, lgamma, log, pi, sqrt


def binomial_at_most(count: int, *, of: int, share: float) -> float:
    """The probability of at most `count` successes in `of` trials."""
    if count < 0:
        return 0.0
    if count >= of:
        return 1.0
    return min(sum(_binomial(k, of=of, share=share) for k in range(count + 1)), 1.0)


def binomial_at_least(count: int, *, of: int, share: float) -> float:
    """The probability of at least `count` successes in `of` trials."""
    if count <= 0:
        return 1.0
    return min(sum(_binomial(k, of=of, share=share) for k in range(count, of + 1)), 1.0)


def binomial_limits(*, of: int, share: float, alarm: float) -> tuple[int, int]:
    """The counts between which a fair share stays but for `alarm`, half of it on either side.

    Below the first or above the second lies at most half of `alarm` each.
    """
    low = high = 0
    total = 0.0
    for count in range(of + 1):
        total += _binomial(count, of=of, share=share)
        if total <= alarm / 2:
            low = count + 1
        high = count
        if total >= 1 - alarm / 2:
            break
    return low, high


def poisson_at_least(count: int, *, mean: float) -> float:
    """The probability of at least `count` where `mean` is expected."""
    if count <= 0:
        return 1.0
    if mean <= 0:
        return 0.0
    term, total, k = exp(count * log(mean) - mean - lgamma(count + 1)), 0.0, count
    while term > total * 1e-16 or k < mean:
        total += term
        k += 1
        term *= mean / k
    return min(total, 1.0)


def chi_square_at_least(value: float, *, freedom: int) -> float:
    """The probability of a chi-square of at least `value`; Abramowitz and Stegun 26.4.4, 26.4.5."""
    if value <= 0:
        return 1.0
    half = value / 2
    if freedom % 2 == 0:
        term, total = 1.0, 0.0
        for j in range(freedom // 2):
            total += term
            term *= half / (j + 1)
        return min(exp(-half) * total, 1.0)
    total, term = 0.0, 1.0
    for j in range((freedom - 1) // 2):
        total += term
        term *= value / (2 * j + 3)
    return min(erfc(sqrt(half)) + sqrt(2 * value / pi) * exp(-half) * total, 1.0)


def _binomial(count: int, *, of: int, share: float) -> float:
    if share <= 0 or share >= 1:
        return float(count == (0 if share <= 0 else of))
    ways = lgamma(of + 1) - lgamma(count + 1) - lgamma(of - count + 1)
    return exp(ways + count * log(share) + (of - count) * log(1 - share))
