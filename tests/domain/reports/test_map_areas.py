"""Which places lie in a drawn area: by hand, and against a general library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial import Delaunay

from reports.domain.map_areas import MOST_CORNERS, AreaError, DrawnArea, area_in

SQUARE = DrawnArea(corners=((46.0, -118.0), (46.0, -117.0), (47.0, -117.0), (47.0, -118.0)))
# A bay from the east: the middle of the eastern edge is pulled in to the western third.
BAY = DrawnArea(
    corners=((46.0, -118.0), (46.0, -117.0), (46.5, -117.7), (47.0, -117.0), (47.0, -118.0))
)


@pytest.mark.parametrize(
    ("area", "place", "is_in"),
    [
        (SQUARE, (46.5, -117.5), True),
        (SQUARE, (46.5, -116.9), False),
        (SQUARE, (47.1, -117.5), False),
        (SQUARE, (46.0, -117.5), True),
        (SQUARE, (47.0, -117.0), True),
        (SQUARE, (46.5, -118.0), True),
        (BAY, (46.5, -117.5), False),
        (BAY, (46.5, -117.9), True),
        (BAY, (46.05, -117.2), True),
    ],
)
def test_a_place_is_within_on_the_edge_or_out(
    area: DrawnArea, place: tuple[float, float], is_in: bool
) -> None:
    assert area.holds(*place) is is_in


corner = st.tuples(st.integers(0, 40), st.integers(0, 40))


@given(spots=st.lists(corner, min_size=3, max_size=12, unique=True), place=corner)
def test_convex_areas_hold_what_a_triangulation_holds(
    spots: list[tuple[int, int]], place: tuple[int, int]
) -> None:
    # scipy's Delaunay triangulation of the same corners covers their convex hull.
    points = np.array(spots, dtype=float)
    assume(np.linalg.matrix_rank(points - points[0]) == 2)
    triangles = Delaunay(points)
    middle = points.mean(axis=0)
    hull = points[np.unique(triangles.convex_hull)]
    around = np.argsort(np.arctan2(hull[:, 1] - middle[1], hull[:, 0] - middle[0]))
    area = DrawnArea(corners=tuple((float(a), float(b)) for a, b in hull[around]))
    expected = bool(triangles.find_simplex(np.array([place], dtype=float))[0] >= 0)
    assert area.holds(float(place[0]), float(place[1])) is expected


def test_an_area_is_written_as_it_is_read() -> None:
    area = area_in("46.85,-118.3; 46.87,-118.3;46.86,-118.25;46.85,-118.3")
    assert area is not None
    assert len(area.corners) == 3
    assert area_in(area.text) == area
    assert area_in("  ") is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("46.85,-118.3;46.87,-118.3", "fewer than three"),
        ("46.85,-118.3;46.87,-118.3;here", "“here” is no corner"),
        ("46.85,-118.3;46.87,-118.3;nan,1", "is no corner"),
        ("146.85,-118.3;46.87,-118.3;46.8,-118.2", "no place on earth"),
        (";".join(f"46.{n},-118.3" for n in range(MOST_CORNERS + 1)), "draw it more simply"),
    ],
)
def test_what_is_no_area_says_why(text: str, says: str) -> None:
    with pytest.raises(AreaError, match=says):
        area_in(text)
