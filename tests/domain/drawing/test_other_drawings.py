"""The year, the dots, the streets, the clusters and the route: figures go in, the same come out."""

from __future__ import annotations

import math
from datetime import date, timedelta
from xml.etree import ElementTree as ET

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from reports.drawing.clusters import NEAREST_ZOOM, Pin, clustered
from reports.drawing.dots import dots, obligations_a_dot
from reports.drawing.ground import Ground
from reports.drawing.projection import projection_of
from reports.drawing.ribbon import Week, ribbon, round_top
from reports.drawing.route import RouteStop, route_map
from reports.drawing.streets import Place, street_of, streets_of

TODAY = date(2025, 11, 25)


def year(**counts: int) -> list[Week]:
    first = date(2024, 12, 30)
    told = {"met": 0, "open_past": 0, "to_come": 0, **counts}
    return [Week(starts_on=first + timedelta(days=7 * n), **told) for n in range(52)]


def shapes(markup: str, name: str) -> list[ET.Element]:
    return [one for one in ET.fromstring(markup).iter() if name in one.get("class", "").split()]


def test_bars_stand_from_one_base_with_what_is_late_on_top() -> None:
    markup = ribbon(year(met=20, open_past=10), today=TODAY, width=1176, says="")
    met, late = shapes(markup, "solid-edge")[0], shapes(markup, "hatched")[0]
    assert float(met.get("height", "0")) == pytest.approx(
        2 * float(late.get("height", "0")), abs=0.2
    )
    assert float(late.get("y", "0")) < float(met.get("y", "0"))


def test_a_week_without_tests_draws_no_bar() -> None:
    markup = ribbon(year(), today=TODAY, width=358, says="")
    assert shapes(markup, "solid-edge") + shapes(markup, "hatched") + shapes(markup, "hollow") == []


@given(most=st.integers(min_value=0, max_value=10_000_000))
def test_the_scale_holds_the_tallest_bar_and_divides_in_three(most: int) -> None:
    top = round_top(most)
    assert top >= most
    assert top % 3 == 0
    assert top <= max(3, 3 * most)
    assert most <= 21 or top <= 1.5 * most + 3  # never half empty


@given(there=st.integers(0, 200), share=st.floats(0, 1))
def test_one_dot_stands_for_each_obligation(there: int, share: float) -> None:
    owed = int(there * share)
    markup = dots(there=there, owed=owed, a_dot=1, width=300, is_above_due=True)
    drawn = shapes(markup, "dot")
    assert len(drawn) == there
    assert len([one for one in drawn if "owed" in one.get("class", "")]) == owed


@given(most=st.integers(0, 500_000), room=st.integers(40, 200))
def test_a_full_rung_keeps_to_its_room(most: int, room: int) -> None:
    assert math.ceil(most / obligations_a_dot(most, room=room)) <= room or most > 5000 * room


@pytest.mark.parametrize(
    ("address", "street"),
    [
        ("2163 N Hawthorn Ave", "N Hawthorn Ave"),
        ("230 Larch Court Apt 4", "Larch Court"),
        ("12B Depot Rd", "Depot Rd"),
        ("PO Box 12", ""),
        ("Northbank Lot 7", ""),
    ],
)
def test_a_street_is_what_follows_the_house_number(address: str, street: str) -> None:
    assert street_of(address) == street


def test_premises_in_a_line_draw_a_street_and_scattered_ones_do_not() -> None:
    line = [Place(address=f"{n} Weir Ln", lat=46.85, lon=-118.3 + n / 500) for n in range(1, 6)]
    bend = [
        Place(address="1 Slough Rd", lat=46.80, lon=-118.3),
        Place(address="2 Slough Rd", lat=46.85, lon=-118.2),
        Place(address="3 Slough Rd", lat=46.90, lon=-118.3),
    ]
    assert [street.name for street in streets_of([*line, *bend])] == ["Weir Ln"]


def test_two_names_along_one_line_are_drawn_once() -> None:
    names = ("Oxbow Rd", "N Oxbow Rd")
    places = [
        Place(address=f"{n} {name}", lat=46.85 + 0.0002 * which, lon=-118.3 + n / 500)
        for which, name in enumerate(names)
        for n in range(1, 6)
    ]
    assert len(streets_of(places)) == 1


PINS = st.lists(
    st.builds(
        Pin,
        id=st.integers(1, 10**6),
        lat=st.floats(46.8, 46.9),
        lon=st.floats(-118.4, -118.2),
        gravity=st.integers(0, 7),
        assemblies=st.integers(1, 9),
        words=st.just("x"),
    ),
    max_size=60,
)


@given(pins=PINS, zoom=st.integers(1, 20))
def test_clusters_lose_no_premises_and_show_the_worst(pins: list[Pin], zoom: int) -> None:
    alone, together = clustered(pins, zoom=zoom)
    assert len(alone) + sum(one.premises for one in together) == len(pins)
    if pins:
        worst = min(pin.gravity for pin in pins)
        assert min([p.gravity for p in alone] + [c.gravity for c in together]) == worst
    if zoom >= NEAREST_ZOOM:
        assert together == []


def test_the_projection_keeps_distances_as_the_ellipsoid_has_them() -> None:
    # geographiclib's geodesics as the measure: within half a percent over a town
    spots = [(46.84, -118.31), (46.88, -118.24)]
    projection = projection_of(spots, width=808, height=458)
    (x1, y1), (x2, y2) = (projection.at(*spot) for spot in spots)
    drawn = math.hypot(x2 - x1, y2 - y1) / projection.px_a_metre
    true = Geodesic.WGS84.Inverse(*spots[0], *spots[1])["s12"]
    assert abs(drawn / true - 1) < 0.005


def test_a_route_draws_every_stop_with_its_number_and_returns_to_the_depot() -> None:
    stops = [
        RouteStop(number=n, lat=46.85 + n / 200, lon=-118.3 + n / 90, words=f"stop {n}")
        for n in range(1, 6)
    ]
    sheet = projection_of([(46.855, -118.29), (46.875, -118.24)], width=808, height=458)
    markup = route_map(
        stops, depot=(46.85, -118.3), ground=Ground(), projection=sheet, says="The day."
    )
    numbers = [one.text for one in shapes(markup, "in-disc")]
    assert numbers == ["1", "2", "3", "4", "5"]
    assert len(shapes(markup, "leg")) == len(stops) + 1


def test_a_day_without_stops_still_draws_its_depot() -> None:
    sheet = projection_of([(0.0, 0.0)], width=358, height=380)
    markup = route_map([], depot=(0.0, 0.0), ground=Ground(), projection=sheet, says="")
    assert ET.fromstring(markup).get("width") == "358"
