"""Road times against a second reading of the same extract, and an algorithm of another kind."""

from __future__ import annotations

from itertools import pairwise, product
from pathlib import Path
from typing import Any

import numpy as np
import osmium
import pytest
from django.conf import LazySettings
from geographiclib.geodesic import Geodesic
from scipy.sparse import lil_matrix
from scipy.sparse.csgraph import bellman_ford

from scheduling.domain.rounds.travel import Detour, straight_travel
from scheduling.domain.rounds.visits import Spot
from scheduling.roads.driving import Driving, driving_of, limit_kmh
from scheduling.roads.map_file import BrokenMapError, installed, load, save
from scheduling.roads.network import LAST_PIECE, Kept, RoadMap
from scheduling.roads.reading import UnreadableRoadsError, read_roads
from tests.own_database import ROOT
from tests.reports.rounds.office import run

TOWN = ROOT / "fixtures" / "roads" / "harbour-town.osm.pbf"


@pytest.fixture(scope="module")
def town() -> RoadMap:
    return read_roads(TOWN)


class EveryPoint(osmium.SimpleHandler):
    """The extract read in osmium's other way: every point of every way, nothing joined."""

    def __init__(self) -> None:
        super().__init__()
        self.places: dict[int, tuple[float, float]] = {}
        self.pieces: list[tuple[int, int, float]] = []

    def way(self, way: Any) -> None:
        how = driving_of(dict(way.tags))
        if how is None:
            return
        points = [(one.ref, one.lat, one.lon) for one in way.nodes if one.location.valid()]
        self.places.update({ref: (lat, lon) for ref, lat, lon in points})
        for (a, *here), (b, *there) in pairwise(points):
            metres = Geodesic.WGS84.Inverse(*here, *there)["s12"]
            seconds = max(metres / 1000 / how.kmh * 3600, 1e-6)
            self.pieces += [(a, b, seconds)] if how.along else []
            self.pieces += [(b, a, seconds)] if how.against else []


def test_minutes_equal_bellman_and_ford_over_every_point(town: RoadMap) -> None:
    # Source: the extract named in fixtures/roads/SOURCES.md; scipy's bellman_ford, and the
    # ellipsoid of geographiclib, which differs from our sphere by 0.56 % at most.
    read = EveryPoint()
    read.apply_file(str(TOWN), locations=True)
    number = {ref: index for index, ref in enumerate(read.places)}
    graph = lil_matrix((len(number), len(number)))
    for a, b, seconds in read.pieces:
        known = graph[number[a], number[b]]
        graph[number[a], number[b]] = seconds if known == 0 else min(seconds, known)
    at = {place: number[ref] for ref, place in read.places.items()}
    chosen = range(0, town.lat.size, town.lat.size // 12)
    rows = [at[float(town.lat[i]), float(town.lon[i])] for i in chosen]
    expected = bellman_ford(graph.tocsr(), indices=rows)[:, rows]
    assert np.isfinite(expected).all()
    found = Kept().rows(town.graph, np.array(chosen))[:, list(chosen)]
    assert found == pytest.approx(expected, rel=0.006, abs=0.2)


def test_a_table_takes_whole_minutes_and_the_last_piece_at_both_ends(town: RoadMap) -> None:
    far = [int(town.lat.argmax()), int(town.lat.argmin()), int(town.lon.argmax())]
    spots = [Spot(float(town.lat[i]), float(town.lon[i])) for i in far]
    table = town.table(spots)
    seconds = Kept().rows(town.graph, np.array(far))[:, far]
    for i, j in product(range(3), repeat=2):
        assert table.between(i, j) == (0 if i == j else int(np.ceil(seconds[i, j] / 60 - 1e-6)))
    assert table.how == "roads"
    # 100 m north of a crossing: 130 m at 15 km/h are 31.2 s more.
    beside = [Spot(spots[0].lat + 0.1 / 111.195, spots[0].lon), spots[1]]
    assert town.table(beside).between(0, 1) == int(np.ceil((seconds[0, 1] + 31.2) / 60))


def test_a_road_is_never_taken_as_quicker_than_its_speed_nor_slower_than_a_crawl(
    town: RoadMap,
) -> None:
    spots = [Spot(float(town.lat[i]), float(town.lon[i])) for i in range(0, town.lat.size, 9)]
    minutes = town.table(spots).minutes
    assert (minutes >= straight_travel(spots, detour=Detour(1.0, 100)).minutes - 1).all()
    assert (minutes <= straight_travel(spots, detour=LAST_PIECE).minutes).all()


def test_places_off_the_map_take_the_straight_line_and_are_counted(town: RoadMap) -> None:
    here, there = (Spot(float(town.lat[i]), float(town.lon[i])) for i in (0, 50))
    island = Spot(60.40, 26.95)
    table = town.table([here, there, island])
    straight = straight_travel([here, there, island], detour=Detour())
    assert table.how == "roads; 1 off the map by straight line"
    assert table.between(0, 2) == straight.between(0, 2)
    assert table.between(2, 1) == straight.between(2, 1)
    assert table.between(0, 1) == town.table([here, there]).between(0, 1)


def test_every_crossing_reaches_every_other(town: RoadMap) -> None:
    rows = Kept().rows(town.graph, np.arange(0, town.lat.size, 25))
    assert np.isfinite(rows).all()


def test_a_map_is_kept_and_read_back_the_same(town: RoadMap, tmp_path: Path) -> None:
    path = tmp_path / "new" / "roads.npz"
    save(town, path)
    again = load(path)
    assert (again.graph != town.graph).nnz == 0
    assert (again.lat == town.lat).all()
    assert again.attribution == town.attribution
    assert installed(path) is installed(path)
    assert installed(tmp_path / "none.npz") is None
    assert [file.name for file in path.parent.iterdir()] == ["roads.npz"]


def test_what_is_no_map_is_refused_by_name(tmp_path: Path) -> None:
    broken = tmp_path / "roads.npz"
    broken.write_bytes(b"PK not a map")
    with pytest.raises(BrokenMapError, match=r"roads\.npz is no road map"):
        load(broken)


@pytest.mark.parametrize("content", [b"", b"not streets", b"\x00\x00\x00\x0d\x0a\x09OSMHeader"])
def test_what_is_no_extract_is_refused_with_what_to_give(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "town.osm.pbf"
    path.write_bytes(content)
    with pytest.raises(UnreadableRoadsError, match=r"town\.osm\.pbf"):
        read_roads(path)


@pytest.mark.parametrize(
    ("tags", "how"),
    [
        # OpenStreetMap wiki, "Key:oneway": yes, -1; roundabouts and motorways are one way.
        ({"highway": "residential"}, Driving(30.0)),
        ({"highway": "residential", "oneway": "yes"}, Driving(30.0, against=False)),
        ({"highway": "residential", "oneway": "-1"}, Driving(30.0, along=False)),
        ({"highway": "tertiary", "junction": "roundabout"}, Driving(45.0, against=False)),
        ({"highway": "motorway"}, Driving(100.0, against=False)),
        ({"highway": "motorway", "oneway": "no"}, Driving(100.0)),
        ({"highway": "primary", "maxspeed": "50"}, Driving(40.0)),
        # "Key:access": the key that says more wins; a drive for customers may be driven.
        ({"highway": "service", "access": "private"}, None),
        ({"highway": "service", "access": "customers"}, Driving(15.0)),
        ({"highway": "service", "access": "no", "motor_vehicle": "yes"}, Driving(15.0)),
        ({"highway": "footway"}, None),
        ({"highway": "service", "area": "yes"}, None),
        ({"building": "yes"}, None),
    ],
)
def test_tags_say_who_may_drive(tags: dict[str, str], how: Driving | None) -> None:
    assert driving_of(tags) == how


@pytest.mark.parametrize(
    ("text", "kmh"),
    [
        # OpenStreetMap wiki, "Key:maxspeed": km/h without a unit, else named.
        ("50", 50.0),
        ("30 mph", 48.28032),
        ("25mph", 40.2336),
        ("walk", None),
        ("signals", None),
        ("0", None),
        ("", None),
    ],
)
def test_limits_are_read_in_both_units(text: str, kmh: float | None) -> None:
    assert limit_kmh(text) == (None if kmh is None else pytest.approx(kmh))


@pytest.mark.django_db
def test_the_command_keeps_the_map_and_says_whose_data_it_is(
    settings: LazySettings, tmp_path: Path
) -> None:
    settings.ROADS = str(tmp_path / "roads.npz")
    said = run("read_roads", str(TOWN), "--json")
    assert said.code == 0
    assert said.json["attribution"] == "© OpenStreetMap contributors, Open Database License"
    assert said.json["crossings"] == load(tmp_path / "roads.npz").lat.size
    assert run("read_roads", str(tmp_path / "none.osm.pbf")).code == 2
