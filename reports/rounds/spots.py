"""Places of a plan by number, and the middle of many."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean

from scheduling.domain.rounds.visits import Spot


class Spots:
    """Numbers for places; equal coordinates are one place."""

    def __init__(self) -> None:
        self.seen: list[Spot] = []
        self._numbers: dict[Spot, int] = {}

    def number(self, spot: Spot) -> int:
        """The number of a place, a new one where it was not seen before."""
        if spot not in self._numbers:
            self._numbers[spot] = len(self.seen)
            self.seen.append(spot)
        return self._numbers[spot]


def mean_of(spots: Sequence[Spot]) -> Spot | None:
    """The mean of coordinates; None without any."""
    if not spots:
        return None
    return Spot(
        lat=round(fmean(spot.lat for spot in spots), 6),
        lon=round(fmean(spot.lon for spot in spots), 6),
    )
