"""The sheet a tester takes along, read back by pypdf; GPX and GeoJSON by what their formats say."""

from __future__ import annotations

import json
import re
from io import BytesIO
from xml.etree import ElementTree

import pytest
from pypdf import PageObject, PdfReader

from reports.drawing.ground import Ground
from reports.models import Round
from reports.queries.day_sheets import day_sheet
from reports.rendering.day_sheets import render_day_sheet
from reports.rendering.sheets import RenderedSheet
from reports.rounds.tracks import GPX, geojson_of, gpx_of
from scheduling.roads.drawn import DrawnLine
from tests.reports.rounds.office import Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    return office


def the_round() -> Round:
    return Round.objects.select_related("tester", "firm", "plan__program").order_by("on")[0]


def drawn_sheet(*lines: DrawnLine) -> RenderedSheet:
    return render_day_sheet(day_sheet(the_round()), ground=Ground(lines=lines))


def text_of(pdf: bytes) -> str:
    pages = PdfReader(BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_the_sheet_says_order_times_places_work_and_cautions(office: Office) -> None:
    site = office.premises(
        name="Dogwood Laboratory", access_notes="Gate code 4411", phone="509 555 0100",
        has_medical_supply=True,
    )  # fmt: skip
    office.due(site, service="fire", assembly={"maker": "Northfork", "location": "vault at curb"})
    office.due(office.premises(name="A <B & C", lat=46.90))
    office.plan()
    said = text_of(drawn_sheet().pdf)
    for words in (
        "Tester T-1, November 30, 2026",
        "8:00 am to 4:30 pm. 2 stops",
        "Dogwood Laboratory",
        "1 Juniper St, Tamarack Flats, WA 99171",
        "Telephone 509 555 0100",
        "Gate code 4411",
        "Northfork, vault at curb, due December 15, 2026",
        "What to bring The gauge;",
        "test-cock fittings for 0.75 in.",
        "fire department",
        "29 CFR 1910.146",
        "Ask the owner before water is shut",
        "Makers' manuals, local code and licensed practice govern",
        "A <B & C",
        "Page 1 of",
    ):
        assert words in said.replace("\u00a0", " "), words


def test_the_same_round_gives_the_same_bytes(office: Office) -> None:
    office.town(visits=4)
    office.plan()
    first, second = (drawn_sheet().sha256 for _ in range(2))
    assert first == second


def test_a_long_day_breaks_between_stops_with_its_heads_repeated(office: Office) -> None:
    for _ in range(16):
        office.due(office.premises(access_notes="Ask at the desk for the key of the pump room"))
    office.plan()
    pdf = drawn_sheet().pdf
    pages = PdfReader(BytesIO(pdf)).pages
    with_stops = [page.extract_text() for page in pages if "Juniper" in page.extract_text()]
    assert len(with_stops) > 1
    assert all("Done, or why not" in " ".join(page.split()) for page in with_stops)


def test_the_head_of_the_stops_stays_with_the_first_however_tall_it_is(office: Office) -> None:
    for lines in (1, 12, 18, 30):
        Round.objects.all().delete()
        site = office.premises(lat=46.8 + lines / 1000, access_notes="Ask at the gate. " * lines)
        office.due(site, service="fire", assembly={"location": "vault at curb"})
        office.plan()
        pages = PdfReader(BytesIO(drawn_sheet().pdf)).pages
        (head,) = [page for page in pages if "Stops, in the order driven" in page.extract_text()]
        assert "Juniper St" in head.extract_text().partition("Stops, in the order driven")[2]


def test_the_map_names_grid_scale_streets_and_water_under_the_stops(office: Office) -> None:
    for n in range(3):
        office.due(office.premises(name=f"Lock {n}", lat=46.80 + n / 100, lon=-118.25 + n / 60))
    office.plan()
    bare = text_of(drawn_sheet().pdf).replace("\u00a0", " ")
    assert re.search(r"46\.8\d\d° N", bare)
    assert re.search(r"118\.2\d\d° W", bare)
    assert "½ mile" in bare
    assert "depot" in bare
    street = DrawnLine(
        kind="main", name="Sluice Street", points=((46.79, -118.26), (46.84, -118.2))
    )
    pool = ((46.806, -118.235), (46.806, -118.225), (46.812, -118.225), (46.812, -118.235))
    water = DrawnLine(kind="water", name="Heron Pond", points=(*pool, pool[0]))
    drawn = text_of(drawn_sheet(street, water).pdf).replace("\u00a0", " ")
    assert "Sluice Street" in drawn
    assert "Sluice Street" not in bare


def test_a_water_that_reaches_beyond_the_map_stays_within_its_frame(office: Office) -> None:
    office.due(office.premises(name="Lock 1"))
    office.plan()
    far = ((40.0, -125.0), (40.0, -110.0), (50.0, -110.0), (50.0, -125.0), (40.0, -125.0))
    page = PdfReader(BytesIO(drawn_sheet(DrawnLine(kind="water", points=far)).pdf)).pages[0]
    corners = [float(n) for n in re.findall(r"(-?[\d.]+) -?[\d.]+ [lm]\b", page_code(page))]
    assert corners
    assert max(map(abs, corners)) < 1000


def page_code(page: PageObject) -> str:
    contents = page.get_contents()
    assert contents is not None
    return contents.get_data().decode("latin-1")


def test_the_route_reads_back_as_gpx(office: Office) -> None:
    # GPX 1.1: rte holds name, then rtept with lat and lon; elements in that order.
    office.due(office.premises(name="Mill & <Sons>\ufffe"))
    office.due(office.premises(lat=None, lon=None))
    office.plan()
    root = ElementTree.fromstring(gpx_of(day_sheet(the_round())))
    assert (root.tag, root.get("version")) == (f"{{{GPX}}}gpx", "1.1")
    points = root.findall(f"{{{GPX}}}rte/{{{GPX}}}rtept")
    assert [point.findtext(f"{{{GPX}}}name") for point in points] == [
        "Depot",
        "1. Mill & <Sons>",
        "Depot",
    ]
    assert (points[1].get("lat"), points[1].get("lon")) == ("46.85", "-118.2")


def test_geojson_puts_longitude_first(office: Office) -> None:
    # RFC 7946 section 3.1.1: longitude, then latitude.
    office.due(office.premises())
    office.plan()
    line, point = json.loads(geojson_of(day_sheet(the_round())))["features"]
    assert line["geometry"] == {
        "type": "LineString",
        "coordinates": [[-118.25, 46.8], [-118.2, 46.85], [-118.25, 46.8]],
    }
    assert point["geometry"] == {"type": "Point", "coordinates": [-118.2, 46.85]}
    assert point["properties"]["number"] == 1
