"""What docs/rounds.md says of minutes, hours and travel is what the code does."""

from __future__ import annotations

import re
from pathlib import Path

from reports.rounds.crews import USUAL_HOURS, USUAL_WEEKDAYS
from scheduling.domain.rounds.minutes import VisitTimes
from scheduling.domain.rounds.plans import Cause
from scheduling.domain.rounds.travel import Detour

TEXT = (Path(__file__).parents[3] / "docs" / "rounds.md").read_text()


def test_the_table_of_minutes_is_the_default() -> None:
    table = dict(re.findall(r"^\| ([A-Z-]+I*) \| (\d+) \|$", TEXT, re.MULTILINE))
    assert {kind: int(minutes) for kind, minutes in table.items()} == VisitTimes().by_type


def test_set_up_and_sizes_are_the_defaults() -> None:
    times = VisitTimes()
    assert f"once per premises, {times.setup_minutes} minutes" in TEXT
    (small, more), (large, most) = times.by_size
    assert f"From {small} inches {more} minutes more, from {large} inches {most}." in TEXT


def test_travel_and_usual_hours_are_the_defaults() -> None:
    detour = Detour()
    assert f"× {detour.factor} at {detour.kmh:g} km/h" in TEXT
    start, end = USUAL_HOURS
    assert list(USUAL_WEEKDAYS) == [0, 1, 2, 3, 4]
    assert f"Monday to Friday, {start:%H:%M} to {end:%H:%M}" in TEXT


def test_every_cause_is_named() -> None:
    assert len(Cause) == TEXT.split("cheapest reason first:")[1].split(".\n")[0].count(",") + 1
