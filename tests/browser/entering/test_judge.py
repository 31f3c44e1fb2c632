"""The device judges as the server does: every shared case, in a real browser."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.domain.reports.vectors import FILE

pytestmark = [pytest.mark.browser]

SCRIPTS = FILE.parents[1] / "config" / "static" / "waterclerk" / "js" / "entering"
JUDGED = """told => {
  const house = window.waterclerk, f = house.figures;
  return told.cases.map(one => {
    const readings = {};
    for (const [name, text] of Object.entries(one.cells)) {
      if (name !== "unit") { readings[name] = f.readCell(name, text).reading; }
    }
    const verdict = house.judge.part(told.limits[one.method], told.bodies[one.type],
      one.cells.unit || "psid", readings);
    return house.judge.plain(verdict);
  });
}"""
READ = """told => told.cells.map(one => {
  const f = window.waterclerk.figures, found = f.readCell(one.name, one.text);
  const reading = found.fault ? null : found.reading;
  return [Boolean(found.fault), f.isFigure(reading) ? f.told(reading) : reading];
})"""


@pytest.fixture
def judging(browser: Browser) -> Iterator[Page]:
    context = browser.new_context()
    page = context.new_page()
    for name in ("figures", "judge"):
        page.add_script_tag(path=SCRIPTS / f"{name}.js")
    yield page
    context.close()


def test_the_device_judges_every_shared_case_as_the_server(judging: Page) -> None:
    told = json.loads(FILE.read_text(encoding="utf-8"))
    found = judging.evaluate(JUDGED, told)
    wrong = [
        (case, one)
        for case, one in zip(told["cases"], found, strict=True)
        if (case["outcome"], case["criteria"]) != (one["outcome"], one["criteria"])
    ]
    assert wrong[:3] == []


def test_the_device_reads_every_shared_cell_as_the_server(judging: Page) -> None:
    told = json.loads(FILE.read_text(encoding="utf-8"))
    found = judging.evaluate(READ, told)
    wrong = [
        (cell, one)
        for cell, one in zip(told["cells"], found, strict=True)
        if [cell["fault"], cell["reading"]] != one
    ]
    assert wrong == []
