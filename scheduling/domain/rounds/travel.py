"""Travel minutes without a road map: great-circle distance, a detour factor and a speed.

numpy is allowed here because a table of 2,000 places has four million cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from scheduling.domain.rounds.visits import Spot

EARTH_RADIUS_KM = 6371.0088
"""Mean radius of the earth (IUGG, GRS 80)."""

Minutes = npt.NDArray[np.int64]


@dataclass(frozen=True)
class TravelTable:
    """Whole minutes between numbered places; ``minutes[i, j]`` from i to j."""

    minutes: Minutes
    how: str

    def between(self, origin: int, target: int) -> int:
        """Minutes from one place to another."""
        return int(self.minutes[origin, target])


class Roads(Protocol):
    """What tells how long it takes from place to place: a straight line or a map of roads.

    `factor` and `kmh` are those of the straight line, where a map says nothing.
    """

    @property
    def factor(self) -> float:
        """How much longer roads are than the straight line."""

    @property
    def kmh(self) -> float:
        """How fast they are driven, in kilometres an hour."""

    def table(self, spots: Sequence[Spot]) -> TravelTable:
        """The minutes between all the spots, in their order."""


@dataclass(frozen=True, slots=True)
class Detour:
    """How much longer roads are than the straight line, and how fast they are driven.

    Defaults are common practice for towns, to be calibrated from past visits.
    """

    factor: float = 1.3
    kmh: float = 40.0

    def __post_init__(self) -> None:
        """Refuse roads shorter than the straight line and speeds that never arrive."""
        if not (self.factor >= 1 and self.kmh > 0):
            raise ValueError(f"no such roads: factor {self.factor}, {self.kmh} km/h")

    def table(self, spots: Sequence[Spot]) -> TravelTable:
        """The minutes between all the spots by the straight line."""
        return straight_travel(spots, detour=self)


def great_circle_km(spots: Sequence[Spot]) -> npt.NDArray[np.float64]:
    """Kilometres on a sphere between all pairs (haversine formula).

    Off by up to 0.56 % against the ellipsoid, which a detour factor of 1.3 hides.
    """
    lat = np.radians(np.array([spot.lat for spot in spots], dtype=np.float64))
    lon = np.radians(np.array([spot.lon for spot in spots], dtype=np.float64))
    half: npt.NDArray[np.float64] = np.sin((lat[:, None] - lat[None, :]) / 2) ** 2
    across = np.sin((lon[:, None] - lon[None, :]) / 2) ** 2
    half += np.cos(lat)[:, None] * np.cos(lat)[None, :] * across
    kilometres: npt.NDArray[np.float64] = np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return 2 * EARTH_RADIUS_KM * kilometres


def straight_travel(spots: Sequence[Spot], *, detour: Detour) -> TravelTable:
    """A travel table over the spots, in their order; every begun minute counts whole.

    10 km apart at factor 1.3 and 40 km/h: 13 km of road, 19.5 minutes, 20 in the table.
    """
    hours = great_circle_km(spots) * (detour.factor / detour.kmh)
    # The small step back keeps an exact 20 from becoming 21 by the last bit.
    whole: npt.NDArray[Any] = np.ceil(hours * 60 - 1e-9)
    return TravelTable(minutes=whole.astype(np.int64), how="great circle")
