"""Plans made with a road map, and at the pace of past drives."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from django.conf import LazySettings

from registry import models
from reports.models import FieldTest, Plan
from reports.rounds.past import past_again, past_of
from reports.rounds.roads import attribution, roads_for, roads_of_plan, travel_words
from scheduling.domain.rounds.travel import Roads
from scheduling.domain.rounds.visits import Spot
from scheduling.roads.map_file import save
from scheduling.roads.reading import read_roads
from tests.reports.rounds.office import NOON, TODAY, Office, run, stops_of
from tests.scheduling.test_roads import TOWN

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    return Office()


def reported(office: Office, tester: models.Tester, *, on: date, gap: int, each: int = 1) -> None:
    """Five premises on a line, 0.05° of latitude apart, a visit begun every `gap` minutes.

    Where there are more tests than one in a visit they are ten minutes apart.
    """
    for number, test in product(range(5), range(each)):
        if not test:
            premises = office.premises(lat=46.6 + 0.05 * number, lon=-118.2)
        ahead = timedelta(minutes=480 + number * gap + 10 * test)
        begins = datetime.combine(on, datetime.min.time()) + ahead
        FieldTest.objects.create(
            program=office.program,
            assembly=office.due(premises).its_assembly,
            digest=f"{on}{number}{test}",
            tested_on=on,
            tested_at=begins.time(),
            tester=tester,
            method="usc10",
            recorded_at=NOON,
        )


def roads_now(office: Office, *, learns: bool = True) -> Roads:
    return roads_for(past_of(office.program, today=TODAY, learns=learns).pace)


def test_sixty_past_drives_set_the_pace_and_the_plan_says_so(office: Office) -> None:
    tester = office.tester("T-1")
    # 0.05° are 5.56 km, 7.23 by road, 11 whole minutes at 40 km/h; an RP with setting up takes 30.
    # Begun every 46.5 minutes in the middle: half of the days 46, half 47.
    for day in range(16):
        reported(office, tester, on=TODAY - timedelta(days=day + 1), gap=46 if day % 2 else 48)
    # Half took 16 and half 18 of 11 expected: middle 17 / 11 = 1.545, 40 / 1.545 = 25.9 km/h.
    roads = roads_now(office)
    assert (roads.factor, roads.kmh) == (1.3, 25.9)
    said = office.plan()
    assert said.json["travel"] == {
        "how": "great circle, pace of 64 past drives",
        "factor": 1.3,
        "speed": 25.9,
    }
    plan = Plan.objects.get()
    assert roads_of_plan(plan).kmh == 25.9
    assert travel_words(plan) == "great circle, pace of 64 past drives × 1.3 at 16 mph"


def test_learned_minutes_count_when_a_drive_is_told_from_a_gap(office: Office) -> None:
    tester = office.tester("T-1")
    # Two tests a visit, ten minutes apart: learned 10 + 10 + 10 = 30 minutes, by default 50. A gap
    # of 48 leaves 18 minutes of drive where 11 are expected; by the defaults it would leave none.
    for day in range(16):
        reported(office, tester, on=TODAY - timedelta(days=day + 1), gap=48, each=2)
    past = past_of(office.program, today=TODAY, learns=True)
    assert [(one.minutes, one.samples) for one in past.learned] == [(10, 80)]
    assert past.pace is not None
    assert past.pace.times == pytest.approx(18 / 11)
    assert roads_now(office).kmh == 24.4  # 40 / 1.636
    assert roads_now(office, learns=False).kmh == 40.0
    assert past_again(json.loads(json.dumps(past.plain()))) == past


def test_fewer_drives_leave_the_usual_speed(office: Office) -> None:
    tester = office.tester("T-1")
    for day in range(14):  # 56 drives
        reported(office, tester, on=TODAY - timedelta(days=day + 1), gap=60)
    assert roads_now(office).kmh == 40.0
    # A day of the year before last counts no more.
    for day in range(2):
        reported(office, tester, on=TODAY - timedelta(days=366 + day), gap=60)
    assert roads_now(office).kmh == 40.0


def test_a_plan_by_the_road_map_says_so_and_whose_data_it_is(
    office: Office, settings: LazySettings, tmp_path: Path
) -> None:
    settings.ROADS = str(tmp_path / "roads.npz")
    town = read_roads(TOWN)
    save(town, Path(settings.ROADS))
    office.tester("T-1", depot_lat=Decimal("60.53"), depot_lon=Decimal("26.95"))
    for index in range(0, town.lat.size, town.lat.size // 6):
        office.due(office.premises(lat=float(town.lat[index]), lon=float(town.lon[index])))
    said = office.plan()
    assert said.json["travel"]["how"] == "roads"
    plan = Plan.objects.get()
    assert travel_words(plan) == "roads"
    credit = "Road data © OpenStreetMap contributors, Open Database License"
    assert attribution(plan.travel_how) == credit
    assert said.json["travel"]["attribution"] == credit
    in_words = run(
        "plan_rounds", "--program", office.code, "--from", "2026-11-30", "--days", "1",
        "--iterations", "5",
    )  # fmt: skip
    assert in_words.out.rstrip().endswith(f"{credit}.")
    assert attribution("great circle") == ""
    # Between two stops lie at least the minutes of the map.
    stops = stops_of(said)
    spots = [Spot(one["lat"], one["lon"]) for one in stops]
    table = town.table(spots)
    for number in range(len(stops) - 1):
        leaves = datetime.fromisoformat(stops[number]["leave"])
        arrives = datetime.fromisoformat(stops[number + 1]["arrive"])
        if leaves.date() == arrives.date():
            assert arrives - leaves >= timedelta(minutes=table.between(number, number + 1))
    # A day changed by hand reckons as its plan did, and without the map as the line does.
    assert roads_of_plan(plan).table(spots).how == "roads"
    Path(settings.ROADS).unlink()
    assert roads_of_plan(plan).table(spots).how == "great circle"
    assert run("export_calendar", "--program", office.code, "--tester", "T-1").code == 0
