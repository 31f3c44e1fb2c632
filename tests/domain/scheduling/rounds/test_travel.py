"""Travel minutes against geographiclib's distances on the WGS 84 ellipsoid."""

from __future__ import annotations

import math
import random
from itertools import product

import pytest
from geographiclib.geodesic import Geodesic

from scheduling.domain.rounds.travel import Detour, great_circle_km, straight_travel
from scheduling.domain.rounds.visits import Spot


def random_spots(seed: int, *, count: int, spread: float) -> list[Spot]:
    dice = random.Random(seed)
    return [
        Spot(46.85 + dice.uniform(-spread, spread), -118.2 + dice.uniform(-spread, spread))
        for _ in range(count)
    ]


def geodesic_km(here: Spot, there: Spot) -> float:
    found = Geodesic.WGS84.Inverse(here.lat, here.lon, there.lat, there.lon)
    return float(found["s12"]) / 1000


@pytest.mark.parametrize("spread", [0.02, 0.3, 40.0])
def test_the_sphere_is_within_0_56_percent_of_the_ellipsoid(spread: float) -> None:
    spots = random_spots(7, count=25, spread=spread)
    table = great_circle_km(spots)
    for (i, here), (j, there) in product(enumerate(spots), repeat=2):
        assert math.isclose(table[i, j], geodesic_km(here, there), rel_tol=0.0056, abs_tol=1e-6)


def test_minutes_are_the_geodesic_kilometres_times_factor_over_speed() -> None:
    spots = random_spots(11, count=20, spread=0.2)
    table = straight_travel(spots, detour=Detour(factor=1.4, kmh=35))
    for (i, here), (j, there) in product(enumerate(spots), repeat=2):
        exact = geodesic_km(here, there) * 1.4 / 35 * 60
        assert exact * 0.9944 - 1e-6 <= table.between(i, j) <= exact * 1.0056 + 1
        assert table.between(i, j) == table.between(j, i)


def test_ten_kilometres_at_the_defaults_take_twenty_minutes() -> None:
    # 10 km x 1.3 / 40 km/h = 19.5 min; a begun minute counts whole. The second spot is ten
    # kilometres north on the ellipsoid, by geographiclib.
    north = Geodesic.WGS84.Direct(46.85, -118.2, 0, 10_000)
    spots = [Spot(46.85, -118.2), Spot(north["lat2"], north["lon2"])]
    assert straight_travel(spots, detour=Detour()).between(0, 1) == 20


def test_identical_coordinates_are_no_distance_apart() -> None:
    table = straight_travel([Spot(46.85, -118.2)] * 3, detour=Detour())
    assert [table.between(i, j) for i, j in product(range(3), repeat=2)] == [0] * 9


def test_opposite_sides_of_the_earth_are_half_its_girth_apart() -> None:
    table = great_circle_km([Spot(0, 0), Spot(0, 180)])
    assert table[0, 1] == pytest.approx(math.pi * 6371.0088)


def test_no_places_make_an_empty_table() -> None:
    assert straight_travel([], detour=Detour()).minutes.shape == (0, 0)


@pytest.mark.parametrize(("lat", "lon"), [(91, 0), (0, -181), (math.nan, 0), (0, math.inf)])
def test_impossible_coordinates_are_refused(lat: float, lon: float) -> None:
    with pytest.raises(ValueError, match="no such place"):
        Spot(lat, lon)


@pytest.mark.parametrize(("factor", "kmh"), [(0.9, 40), (1.3, 0), (1.3, -5), (math.nan, 40)])
def test_impossible_roads_are_refused(factor: float, kmh: float) -> None:
    with pytest.raises(ValueError, match="no such roads"):
        Detour(factor=factor, kmh=kmh)
