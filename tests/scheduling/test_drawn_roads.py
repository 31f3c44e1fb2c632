"""What is drawn under maps: an extract's streets, county lines, and lines made shorter."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import osmium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.roads.drawing import is_water, kind_of, read_drawn
from scheduling.roads.drawn import DrawnLine, DrawnMap, Extent, beside, drawn_at, drawn_map
from scheduling.roads.drawn import save_drawn as save
from scheduling.roads.map_file import BrokenMapError
from scheduling.roads.outlines import outlines_of
from scheduling.roads.thinning import METRES_A_DEGREE, Points, joined, thinned
from tests.own_database import ROOT

TOWN = ROOT / "fixtures" / "roads" / "harbour-town.osm.pbf"
COUNTIES = ROOT / "fixtures" / "places" / "us-counties.npz"
WORLD = Extent(south=-90, west=-180, north=90, east=180)


@pytest.fixture(scope="module")
def town() -> DrawnMap:
    return read_drawn(TOWN)


class Lengths(osmium.SimpleHandler):
    """The extract read in osmium's other way: how long the drawn ways of each name are."""

    def __init__(self) -> None:
        super().__init__()
        self.metres: dict[str, float] = {}

    def way(self, way: Any) -> None:
        tags = dict(way.tags)
        if kind_of(tags) in {"main", "road", "street", "lane"}:
            points = tuple((one.lat, one.lon) for one in way.nodes if one.location.valid())
            name = tags.get("name", "")
            self.metres[name] = self.metres.get(name, 0.0) + length(points)


def length(points: Points) -> float:
    across = METRES_A_DEGREE * math.cos(math.radians(60.5))
    return sum(
        math.hypot((b[0] - a[0]) * METRES_A_DEGREE, (b[1] - a[1]) * across)
        for a, b in pairwise(points)
    )


def test_every_street_of_an_extract_is_drawn_under_its_name_and_as_long(town: DrawnMap) -> None:
    # Source: the extract named in fixtures/roads/SOURCES.md, read a second way.
    read = Lengths()
    read.apply_file(str(TOWN), locations=True)
    drawn: dict[str, float] = {}
    for line in town.within(WORLD):
        if line.kind not in {"water", "river", "shore"}:
            drawn[line.name] = drawn.get(line.name, 0.0) + length(line.points)
    assert drawn.keys() == {name for name, metres in read.metres.items() if metres}
    for name, metres in drawn.items():
        assert metres == pytest.approx(read.metres[name], rel=0.03, abs=8), name


@pytest.mark.parametrize(
    ("tags", "kind"),
    [
        # Source of the meanings: the OpenStreetMap wiki, Key:highway, Key:waterway, Key:natural.
        ({"highway": "motorway_link"}, "main"),
        ({"highway": "residential"}, "street"),
        ({"highway": "service"}, "lane"),
        ({"highway": "service", "service": "parking_aisle"}, ""),
        ({"highway": "footway"}, ""),
        ({"highway": "residential", "area": "yes"}, ""),
        ({"waterway": "river"}, "river"),
        ({"waterway": "stream", "tunnel": "culvert"}, ""),
        ({"waterway": "ditch"}, ""),
        ({"natural": "coastline"}, "shore"),
    ],
)
def test_what_a_way_is_drawn_as(tags: dict[str, str], kind: str) -> None:
    assert kind_of(tags) == kind


def test_a_lake_in_an_extract_is_drawn_as_water(tmp_path: Path) -> None:
    path = tmp_path / "lake.osm"
    corners = [(46.0, -118.0), (46.0, -117.99), (46.01, -117.99), (46.01, -118.0)]
    nodes = "".join(f'<node id="{n}" lat="{a}" lon="{b}"/>' for n, (a, b) in enumerate(corners, 1))
    refs = "".join(f'<nd ref="{n}"/>' for n in (1, 2, 3, 4, 1))
    tags = '<tag k="natural" v="water"/><tag k="name" v="Settling Lake"/>'
    path.write_text(f'<osm version="0.6">{nodes}<way id="9">{refs}{tags}</way></osm>')
    (lake,) = read_drawn(path).within(WORLD)
    assert (lake.kind, lake.name) == ("water", "Settling Lake")
    assert set(lake.points) == set(corners)
    assert is_water({"waterway": "riverbank"})
    assert not is_water({"natural": "wood"})


def test_what_is_kept_is_what_was_read(town: DrawnMap, tmp_path: Path) -> None:
    path = beside(tmp_path / "roads.npz")
    save(town, path)
    kept = drawn_at(path)
    assert kept is not None
    assert kept.within(WORLD) == town.within(WORLD)
    assert drawn_at(tmp_path / "none.npz") is None
    path.write_bytes(b"no archive")
    with pytest.raises(BrokenMapError, match="make it anew"):
        drawn_at(path)


def test_a_box_finds_what_touches_it_and_fine_lines_go_first_when_there_are_too_many() -> None:
    lines = [
        DrawnLine(kind="lane", name="Mews", points=((46.0, -118.0), (46.01, -118.0))),
        DrawnLine(kind="main", name="Highway", points=((46.0, -118.1), (46.0, -117.9))),
        DrawnLine(kind="street", name="Far St", points=((48.0, -118.0), (48.1, -118.0))),
    ]
    drawn = drawn_map(lines, attribution="")
    box = Extent(south=45.99, west=-118.05, north=46.005, east=-117.95)
    assert [one.name for one in drawn.within(box)] == ["Highway", "Mews"]
    assert [one.name for one in drawn.within(box, most=2)] == ["Highway"]
    assert [one.name for one in drawn.within(box, kinds=["lane"])] == ["Mews"]
    assert drawn_map([], attribution="").within(box) == []


def test_an_arc_of_a_topology_is_decoded_as_its_specification_does() -> None:
    # Source: the TopoJSON Format Specification 1.0, section 1.1, the quantized example: the arc
    # [[4000, 0], [1999, 9999], [2000, -9999], [2000, 9999]] is the line from [102, 0] to [105, 1].
    topology = {
        "transform": {"scale": [0.0005000500050005, 0.00010001000100010001], "translate": [100, 0]},
        "arcs": [[[4000, 0], [1999, 9999], [2000, -9999], [2000, 9999]]],
    }
    (line,) = outlines_of(topology).within(WORLD)
    expected = [(0, 102), (1, 103), (0, 104), (1, 105)]
    assert np.array(line.points) == pytest.approx(np.array(expected), abs=0.002)


def test_county_lines_meet_where_four_states_meet() -> None:
    # The monument stands at 36°59'56" N, 109°02'43" W (National Geodetic Survey; from memory).
    counties = drawn_at(COUNTIES)
    assert counties is not None
    near = Extent(south=36.9, west=-109.15, north=37.1, east=-108.95)
    ends = [end for line in counties.within(near) for end in (line.points[0], line.points[-1])]
    there = [end for end in ends if math.dist(end, (36.99897, -109.0452)) < 0.005]
    assert len(there) == 4


degrees = st.tuples(st.floats(46.0, 46.1), st.floats(-118.1, -118.0))


@settings(max_examples=30)
@given(points=st.lists(degrees, min_size=2, max_size=12), metres=st.floats(1, 500))
def test_a_thinned_line_strays_no_farther_than_it_may(points: list[Any], metres: float) -> None:
    whole = tuple(points)
    kept = thinned(whole, metres=metres)
    assert kept[0] == whole[0]
    assert kept[-1] == whole[-1]
    across = METRES_A_DEGREE * math.cos(math.radians(whole[0][0]))

    def off(point: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
        px, py, ax, ay, bx, by = (
            value * scale
            for spot in (point, a, b)
            for value, scale in ((spot[1], across), (spot[0], METRES_A_DEGREE))
        )
        steps = np.linspace(0, 1, 2001)
        return float(np.hypot(ax + (bx - ax) * steps - px, ay + (by - ay) * steps - py).min())

    for point in whole:
        assert min(off(point, a, b) for a, b in pairwise(kept)) <= metres + 8


def test_pieces_that_meet_end_to_end_become_one_and_forks_stay() -> None:
    a, b, c, d = (46.0, -118.0), (46.0, -117.9), (46.0, -117.8), (46.1, -117.8)
    assert joined([(a, b), (c, b)]) == [(a, b, c)]
    assert len(joined([(a, b), (b, c), (b, d)])) == 3
    (ring,) = joined([(a, b), (b, c), (c, d), (d, a)])
    assert ring[0] == ring[-1]
    assert set(ring) == {a, b, c, d}
