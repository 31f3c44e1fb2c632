"""Every page in a real browser: nothing for axe, the policy kept, no sideways on a phone."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.access.addresses import address, rows_of_matrix
from tests.access.cast import Office
from tests.browser.conftest import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NO_PAGES = {
    "calendar-feed",
    "round-sheet",
    "round-gpx",
    "round-geojson",
    "certificate-pdf",
    "service-sheet",
    "round-service-sheets",
    "owner-certificate",
    "rulebook-toml",
    "rulebook-shipped-toml",
    "registry-map",
    "map-ground",
    "letter-pdf",
    "erase-picture-file",
    "handover-photo",
    "work-order-pdf",
    "look-css",
    "wording-preview-pdf",
    "calibration-file",
    "load-to-mend",
    "load-line",
    "healthz",
    "look",
    "enter-ready",
    "enter-worker",
    "enter-picture",
    "enter-manifest",
    "enter-standing",
    "paper-file",
    "letter-run-csv",
    "letter-run-pdf",
    "firm-letter",
    "paper-page",
    "tests-batch-rest",
    "tests-template",
}
WIDEST_PHONE_SPILL = 0
PLAIN = ("today", "registry", "assembly", "order", "field-test", "rounds")


def pages_of(office: Office) -> dict[str, str]:
    """Every address that shows a page to an administrator, but the map's data and files."""
    return {
        name: address(name, office)
        for name, method, expected in rows_of_matrix()
        if method == "GET" and expected["administrator"] == 200 and name not in NO_PAGES
    }


def test_axe_finds_no_violation_on_any_page(visit: Visit) -> None:
    found = []
    for name, path in pages_of(visit.office).items():
        visit.go(path)
        for violation in Axe().run(visit.page).response["violations"]:
            where = [node["target"] for node in violation["nodes"]][:3]
            found.append(f"{name}: {violation['id']}: {violation['help']} {where}")
    assert found == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_colours_keep_their_contrast_in_light_and_dark(visit: Visit, scheme: str) -> None:
    visit.page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    found = []
    for name in (*PLAIN, "quality-watch", "round-bring", "certificate-page"):
        visit.go(address(name, visit.office))
        answer = Axe().run(visit.page, options={"runOnly": ["color-contrast"]})
        found += [f"{name}: {one['help']}" for one in answer.response["violations"]]
    assert found == []


def test_no_page_breaks_the_content_policy(visit: Visit) -> None:
    for path in pages_of(visit.office).values():
        visit.go(path)
    assert [one for one in visit.complaints if "Content Security Policy" in one] == []
    assert visit.complaints == []


def test_no_page_carries_style_or_script_of_its_own(visit: Visit) -> None:
    found = []
    for name, path in pages_of(visit.office).items():
        visit.go(path)
        source = visit.page.evaluate("fetch(location.href).then(reply => reply.text())")
        if "<style" in source or " style=" in source or "onclick=" in source:
            found.append(name)
        if "<script>" in source or "javascript:" in source:
            found.append(name)
    assert found == []


@pytest.mark.parametrize("width", [360, 390])
def test_no_page_scrolls_sideways_on_a_phone(visit: Visit, width: int) -> None:
    visit.page.set_viewport_size({"width": width, "height": 740})
    found = []
    for name, path in pages_of(visit.office).items():
        visit.go(path)
        spill = visit.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        if spill > WIDEST_PHONE_SPILL:
            found.append(f"{name}: {spill} px")
    assert found == []


def test_links_and_buttons_are_large_enough_for_a_thumb(visit: Visit) -> None:
    visit.page.set_viewport_size({"width": 390, "height": 740})
    visit.go(address("today", visit.office))
    heights = visit.page.evaluate(
        "[...document.querySelectorAll('.words a, button')]"
        ".map(one => one.getBoundingClientRect().height)"
    )
    assert min(heights) >= 44
