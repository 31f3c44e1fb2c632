"""The maps of the list and of assigning on the office's own extract, in a real browser."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import LazySettings
from playwright.sync_api import Page, expect

from registry.models import Premises
from scheduling.roads.drawn import DrawnLine, beside, drawn_map, save_drawn
from tests.access.addresses import address
from tests.browser.conftest import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SAID = "© OpenStreetMap contributors, Open Database License"
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def extract(visit: Visit, settings: LazySettings, tmp_path: Path) -> None:
    """A street of many short pieces, a lake and a river around the premises on record."""
    placed = Premises.objects.filter(program=visit.office.program, lat__isnull=False)[0]
    lat, lon = float(placed.lat or 0), float(placed.lon or 0)
    far = [lon + (n - 20) * 0.001 for n in range(41)]
    edge = [(-1, -1), (-1, 1), (1, 1), (1, -1), (-1, -1)]
    lake = tuple((lat - 0.002 + a * 0.0008, lon - 0.004 + b * 0.0012) for a, b in edge)
    lines = [
        DrawnLine(kind="road", name="Ferry Road", points=tuple((lat + 0.001, one) for one in far)),
        DrawnLine(kind="river", name="Millrace", points=tuple((lat - 0.001, one) for one in far)),
        DrawnLine(kind="water", name="Heron Pond", points=lake),
    ]
    roads = tmp_path / "roads.npz"
    settings.ROADS = str(roads)
    save_drawn(drawn_map(lines, attribution=SAID), beside(roads))


def asked(page: Page) -> list[str]:
    found: list[str] = page.evaluate(
        "performance.getEntriesByType('resource').map(one => one.name)"
    )
    return found


@pytest.mark.usefixtures("extract")
@pytest.mark.parametrize("size", [{"width": 1280, "height": 900}, PHONE], ids=["desk", "phone"])
@pytest.mark.parametrize(("name", "box"), [("registry", "#map"), ("round-assign", "#area-map")])
def test_streets_and_water_of_the_extract_are_asked_of_us_and_drawn(
    visit: Visit, name: str, box: str, size: dict[str, int]
) -> None:
    page = visit.page
    page.set_viewport_size({"width": size["width"], "height": size["height"]})
    visit.go(address(name, visit.office))
    page.wait_for_selector(f"{box}[data-drawn]")
    for look in ("street.of-road", "street-edge.of-road", "line.of-river", "area.of-water"):
        expect(page.locator(f"{box} path.{look}")).to_have_count(1)
    expect(page.locator(f"{box} .road-name", has_text="Ferry Road")).to_have_count(1)
    expect(page.locator(f"{box} .leaflet-control-scale-line")).to_contain_text("ft")
    said = page.locator(f"#{page.locator(box).get_attribute('data-said')}")
    expect(said).to_contain_text(f"Streets and water {SAID}")
    expect(said).not_to_contain_text("addresses on record")
    addresses = asked(page)
    assert any("/ground.json" in one for one in addresses)
    assert all(one.startswith(visit.base) for one in addresses)
    assert visit.complaints == []
