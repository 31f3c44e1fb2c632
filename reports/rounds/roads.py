"""Which roads a program's plans are made with: the office's map, the straight line, how fast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from django.conf import settings

from reports.models import Plan
from scheduling.domain.rounds.calibrating import Pace
from scheduling.domain.rounds.travel import Detour, Roads, TravelTable
from scheduling.domain.rounds.visits import Spot
from scheduling.roads.map_file import installed
from scheduling.roads.network import RoadMap

TOWN_ROADS: Final = Detour()
BY_ROADS = "roads"
MILES_A_KM = 0.621371


@dataclass(frozen=True)
class Paced:
    """Roads with the pace of past drives; the plan says from how many."""

    roads: Detour | RoadMap
    pace: Pace

    @property
    def factor(self) -> float:
        """As that of the roads."""
        return self.roads.factor

    @property
    def kmh(self) -> float:
        """As that of the roads."""
        return self.roads.kmh

    def table(self, spots: Sequence[Spot]) -> TravelTable:
        """The minutes between all the spots, with the drives they rest on told."""
        found = self.roads.table(spots)
        return replace(found, how=f"{found.how}, pace of {self.pace.drives} past drives")


def roads_for(pace: Pace | None) -> Roads:
    """The roads a new plan is made with: a map where the office has one, at the pace of the past.

    The pace is worked out anew for each plan and kept with it as a speed, so that a day changed by
    hand later reckons as its plan did.
    """
    if pace is None:
        return usual_roads()
    # One decimal, as it is kept with the plan: 40 km/h at a pace of 1.3 is 30.8.
    return Paced(at_speed(max(round(TOWN_ROADS.kmh / pace.times, 1), 0.1), mapped=_map()), pace)


def usual_roads() -> Detour | RoadMap:
    """The roads at the usual speed, whatever the past says."""
    return at_speed(TOWN_ROADS.kmh, mapped=_map())


def roads_of_plan(plan: Plan | None) -> Roads:
    """The roads of a kept plan, for days changed by hand; the defaults where there is none."""
    if plan is None or not plan.travel_factor or not plan.travel_kmh:
        return usual_roads()
    mapped = _map() if plan.travel_how.startswith(BY_ROADS) else None
    return at_speed(float(plan.travel_kmh), factor=float(plan.travel_factor), mapped=mapped)


def at_speed(
    kmh: float, *, factor: float = TOWN_ROADS.factor, mapped: RoadMap | None
) -> Detour | RoadMap:
    """The straight line at a speed, or the map as much slower as that is than the default."""
    straight = Detour(factor, kmh)
    if mapped is None:
        return straight
    return replace(mapped, detour=straight, pace=TOWN_ROADS.kmh / kmh)


def attribution(travel_how: str) -> str:
    """What must be said beside whatever was made with a road map; empty for the straight line."""
    mapped = _map() if travel_how.startswith(BY_ROADS) else None
    return "" if mapped is None else f"Road data {mapped.attribution}"


def travel_words(plan: Plan) -> str:
    """How a plan reckons driving, for a page: "great circle × 1.3 at 25 mph", or "roads"."""
    how = plan.travel_how
    if not how or how.startswith(BY_ROADS) or not plan.travel_factor:
        return how
    mph = round(float(plan.travel_kmh) * MILES_A_KM)
    return f"{how} × {plan.travel_factor.normalize()} at {mph} mph"


def _map() -> RoadMap | None:
    return installed(Path(settings.ROADS))
