"""Ratios a program reports: tests in time of those due, and assemblies tested in a year.

Two are in use. *Tested in time*: of the tests whose due date fell in a month or year, those met
by a pass on or before that date. *Tested in the year*: of the assemblies in the registry, those
that passed in the calendar year; Colorado asks for 0.90 of it, the rest chased within 90 days
(Colorado Regulation 11, section 11.39, read in part).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_DOWN, Decimal

COLORADO_ASKS = Decimal("0.90")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """A part of a whole; without a whole there is no ratio."""

    part: int
    whole: int

    @property
    def share(self) -> Decimal | None:
        """The exact share, or None of nothing.

        Example (derived from Colorado's rule): 400 + 10 assemblies, 369 of them tested: 0.9.
        """
        return Decimal(self.part) / Decimal(self.whole) if self.whole else None

    @property
    def percent(self) -> str:
        """With one decimal, rounded down: 89.99 % is not shown as 90."""
        share = self.share
        if share is None:
            return ""
        return str((share * 100).quantize(Decimal("0.1"), rounding=ROUND_DOWN))

    def reaches(self, asked: Decimal) -> bool:
        """Whether the exact share is at least what is asked."""
        return self.share is not None and self.share >= asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """The tests that fell due in a month, and what became of them."""

    first: date
    in_time: int
    late: int
    not_tested: int
    is_over: bool

    @property
    def due(self) -> int:
        """All that fell due."""
        return self.in_time + self.late + self.not_tested

    @property
    def ratio(self) -> Ratio:
        """Those tested in time."""
        return Ratio(part=self.in_time, whole=self.due)
