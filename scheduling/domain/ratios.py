"""The share of assemblies tested in a calendar year against the share a rulebook asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal

from scheduling.domain.reasons import Reason
from scheduling.domain.rules import RatioRule


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioFound:
    """How many were tested of how many, whether that is enough, and how many are missing.

    `chased_by`: the last day on which the rest is chased.
    """

    tested: int
    of: int
    share: Decimal
    is_met: bool
    missing: int
    chased_by: date
    reason: Reason


def ratio_found(*, rule: RatioRule, tested: int, of: int, year: int) -> RatioFound:
    """Return the ratio of a calendar year; exact, compared without rounding.

    Of no assemblies at all the ratio is met. Raises ValueError for counts that cannot be.
    Example (0.90): 369 of 410 is met, 368 of 410 is not, 1 is missing.
    """
    if not 0 <= tested <= of:
        raise ValueError(f"{tested} tested of {of}: count again, tested is from 0 to {of}.")
    needed = int((rule.share * of).to_integral_value(rounding=ROUND_CEILING))
    chased_by = date(year, 12, 31) + timedelta(days=rule.chase_days)
    share = Decimal(tested) / of if of else Decimal(1)
    said = (
        f"{tested} of {of} tested in {year}, {rule.share} of {of} is {needed}: "
        f"{max(0, needed - tested)} missing; the rest chased until {chased_by}"
    )
    return RatioFound(
        tested=tested,
        of=of,
        share=share,
        is_met=tested >= needed,
        missing=max(0, needed - tested),
        chased_by=chased_by,
        reason=Reason(date(year, 12, 31), rule.id, said, rule.citation),
    )
