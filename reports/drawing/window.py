"""Which days a timeline shows, and where each stands across the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

_DAYS_A_YEAR: Final = 365.25


@dataclass(frozen=True, kw_only=True)
class Window:
    """Which days are drawn and how wide; a phone has its lane names inside the lanes."""

    from_on: date
    until_on: date
    width: float
    left: float
    names_inside: bool

    def x(self, on: date) -> float:
        """Where a day stands."""
        share = (on - self.from_on).days / max((self.until_on - self.from_on).days, 1)
        return self.left + share * (self.width - self.left - 8)

    def holds(self, on: date) -> bool:
        """Whether a day is in the drawing."""
        return self.from_on <= on <= self.until_on


def desk_window(today: date) -> Window:
    """Four and a half years, 1,176 px: the year rules begin before the first window."""
    return Window(
        from_on=today - timedelta(days=int(4.0 * _DAYS_A_YEAR)),
        until_on=today + timedelta(days=int(0.55 * _DAYS_A_YEAR)),
        width=1176,
        left=98,
        names_inside=False,
    )


def phone_window(today: date) -> Window:
    """The last eighteen months, 358 px."""
    return Window(
        from_on=today - timedelta(days=int(1.5 * _DAYS_A_YEAR)),
        until_on=today + timedelta(days=55),
        width=358,
        left=8,
        names_inside=True,
    )
