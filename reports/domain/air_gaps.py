"""An air gap is measured, not gauged: how wide it must be for its supply, and whether it is."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from reports.domain.verdicts import Outcome

CITATION = "WAC 246-290-010, air gap"
_TIMES, _LEAST_IN = Decimal(2), Decimal(1)
_TIMES_BY_WALL, _LEAST_BY_WALL_IN = Decimal(3), Decimal("1.5")
LARGEST_IN = Decimal(120)


@dataclass(frozen=True, kw_only=True)
class AirGap:
    """A gap from the outlet to the flood level rim, and the supply's inner diameter, in inches."""

    gap_in: Decimal
    supply_in: Decimal
    is_by_wall: bool


@dataclass(frozen=True, kw_only=True)
class MeasuredGap:
    """Whether a gap is wide enough, its limit and margin in inches, and why."""

    outcome: Outcome
    limit_in: Decimal
    margin_in: Decimal
    reason: str


def least_gap(*, supply_in: Decimal, is_by_wall: bool) -> Decimal:
    """The least gap for a supply pipe, in inches (WAC 246-290-010).

    Twice the supply's diameter and never below 1 in; by a wall three times, never below 1.5 in.
    A 3/4 in pipe asks for 1.5 in, by a wall for 2.25 in; a 1/4 in pipe for 1 in, by a wall 1.5 in.
    """
    times, least = (_TIMES_BY_WALL, _LEAST_BY_WALL_IN) if is_by_wall else (_TIMES, _LEAST_IN)
    return max(times * supply_in, least)


def judge_gap(measured: AirGap) -> MeasuredGap:
    """Judge a measured gap, before any rounding; one that equals its limit is wide enough.

    Raises ValueError for what no rule measures: a supply of nothing, a gap below zero.
    """
    if measured.supply_in <= 0 or measured.gap_in < 0 or measured.gap_in > LARGEST_IN:
        raise ValueError(
            f"write the gap as 0 to {LARGEST_IN} in, and the supply's diameter above 0 in"
        )
    limit = least_gap(supply_in=measured.supply_in, is_by_wall=measured.is_by_wall)
    is_enough = measured.gap_in >= limit
    where = "by a wall, " if measured.is_by_wall else ""
    asked = "3 ×" if measured.is_by_wall else "2 ×"
    least = _LEAST_BY_WALL_IN if measured.is_by_wall else _LEAST_IN
    return MeasuredGap(
        outcome=Outcome.PASS if is_enough else Outcome.FAIL,
        limit_in=limit,
        margin_in=measured.gap_in - limit,
        reason=(
            f"Air gap {measured.gap_in:f} in; {where}a supply of {measured.supply_in:f} in asks for"
            f" {limit:f} in ({asked} its diameter, never below {least:f} in; {CITATION} [read])."
        ),
    )
