"""The ground of a map: a grid and a scale that measure, names that touch nothing."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

import pytest
from geographiclib.geodesic import Geodesic

from reports.drawing.clusters import Cluster, Pin
from reports.drawing.ground import Ground, finish, grid_miles, name_streets, sheet_on
from reports.drawing.pins import premises_map
from reports.drawing.projection import MILE_M, Projection, projection_of
from reports.drawing.svg import text_width
from scheduling.roads.drawn import DrawnLine

TOWN = [(46.84, -118.31), (46.89, -118.22)]
WORDS = ("failed", "overdue", "untested", "due", "idle", "exempt", "good", "removed")


def sheet_of(lines: list[DrawnLine], projection: Projection) -> ET.Element:
    ground = Ground(lines=tuple(lines))
    sheet, taken = sheet_on(ground, projection, says="A map.")
    name_streets(sheet, ground, projection, taken)
    finish(sheet, projection)
    return ET.fromstring(sheet.markup())


def looks(drawn: ET.Element, look: str) -> list[ET.Element]:
    return [one for one in drawn.iter() if look in one.get("class", "").split()]


def test_the_grid_is_of_round_miles_as_the_ellipsoid_has_them() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    drawn = sheet_of([], projection)
    lats = [
        float(one.text.split("°")[0])
        for one in looks(drawn, "grid-name")
        if one.text and "N" in one.text
    ]
    assert len(lats) > 2
    step = Geodesic.WGS84.Inverse(lats[0], -118.3, lats[1], -118.3)["s12"] / MILE_M
    # Names are to the thousandth of a degree, about 110 m; a sphere is 0.6 % off at most.
    assert step == pytest.approx(grid_miles(projection), abs=0.08)


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    drawn = sheet_of([], projection)
    (words,) = looks(drawn, "on-land")
    assert words.text == "½ mile"
    (bar,) = looks(drawn, "scale")
    (left, _), (right, _) = re.findall(r"([\d.]+) ([\d.]+)", bar.get("d", ""))[1:3]
    wide = float(right) - float(left)
    assert wide == pytest.approx(0.5 * MILE_M * projection.px_a_metre, abs=0.1)


def street(name: str, lat: float, *, kind: str = "street") -> DrawnLine:
    return DrawnLine(kind=kind, name=name, points=((lat, -118.30), (lat, -118.23)))


def test_names_stand_along_their_streets_once_and_apart() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    streets = [street(f"{n} Weir Lane", 46.845 + n * 0.0005) for n in range(60)]
    drawn = sheet_of([*streets, street("0 Weir Lane", 46.88)], projection)
    names = looks(drawn, "road-name")
    words = [one.text or "" for one in names]
    assert len(words) == len(set(words))
    assert 10 < len(words) < 60
    boxes = []
    for one in names:
        half, x, y = (
            text_width(one.text or "") / 2,
            float(one.get("x", "")),
            float(one.get("y", "")),
        )
        boxes.append((x - half, y - 10, x + half, y + 2))
    for index, a in enumerate(boxes):
        for b in boxes[index + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_a_name_is_never_upside_down_and_none_stands_where_it_has_no_room() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    steep = DrawnLine(kind="street", name="Hill Rd", points=((46.89, -118.27), (46.84, -118.28)))
    short = DrawnLine(
        kind="street", name="A Very Long Name Avenue", points=((46.86, -118.30), (46.86, -118.299))
    )
    (one,) = looks(sheet_of([steep, short], projection), "road-name")
    turned = re.search(r"rotate\((-?[\d.]+) ", one.get("transform", ""))
    assert turned is not None
    assert -90 <= float(turned[1]) <= 90


def test_water_is_cut_at_the_frame_and_keeps_its_area_within() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    extent = projection.extent
    far = 5 * (extent.north - extent.south)
    lake = DrawnLine(
        kind="water",
        points=tuple(
            (projection.lat_0 + a * far, projection.lon_0 + b * far)
            for a, b in ((-1, -1), (-1, 1), (1, 1), (1, -1), (-1, -1))
        ),
    )
    (water,) = looks(sheet_of([lake], projection), "water")
    spots = [
        tuple(map(float, pair.split()))
        for pair in re.findall(r"-?[\d.]+ -?[\d.]+", water.get("d", ""))
    ]
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    assert (min(xs), max(xs)) == (-9, 817)
    assert (min(ys), max(ys)) == (-9, 467)


def test_a_street_is_cut_into_the_pieces_that_lie_on_the_sheet() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    out = (46.95, -118.26)
    runs = list(projection.runs([(46.86, -118.29), (46.86, -118.28), out, (46.86, -118.24)]))
    assert [len(run) for run in runs] == [3, 2]
    assert all(0 <= x <= 808 and 0 <= y <= 458 for run in runs for x, y in run)


def test_the_gravest_is_drawn_over_the_rest_and_a_ring_says_how_many() -> None:
    pins = [
        Pin(id=n, lat=46.86 + n / 1000, lon=-118.27, gravity=n, assemblies=1, words="x")
        for n in (0, 6)
    ]
    ring = Cluster(
        lat=46.87, lon=-118.25, gravity=1, premises=1234, south=46.87, west=-118.26,
        north=46.88, east=-118.25,
    )  # fmt: skip
    projection = projection_of(TOWN, width=808, height=458)
    markup = premises_map(
        pins,
        [ring],
        words=WORDS,
        sprite="/marks.svg",
        ground=Ground(),
        projection=projection,
        says="",
    )
    marks = [one.get("href") for one in ET.fromstring(markup).iter() if one.tag.endswith("use")]
    assert marks == ["/marks.svg#good", "/marks.svg#overdue", "/marks.svg#failed"]
    assert "1,234" in markup


def test_a_projection_knows_about_which_zoom_it_stands_at() -> None:
    # Source: the OpenStreetMap wiki, "Zoom levels": 156,543 m a px at zoom 0 on the equator,
    # halved by each zoom and shortened by the cosine of the latitude.
    projection = projection_of(TOWN, width=808, height=458)
    metres = 156_543.03 * math.cos(math.radians(projection.lat_0)) / 2**projection.zoom
    assert 2**-0.5 <= metres * projection.px_a_metre <= 2**0.5


def test_a_name_follows_a_street_of_many_short_pieces_and_leaves_a_bent_one() -> None:
    projection = projection_of(TOWN, width=808, height=458)
    far = [-118.30 + n * 0.002 for n in range(31)]
    winding = DrawnLine(kind="road", name="Ferry Road", points=tuple((46.87, lon) for lon in far))
    steps = tuple((46.85 + (n % 2) * 0.004, lon) for n, lon in enumerate(far))
    bent = DrawnLine(kind="road", name="Millrace Road", points=steps)
    drawn = sheet_of([winding, bent], projection)
    assert [one.text for one in looks(drawn, "road-name")] == ["Ferry Road"]
