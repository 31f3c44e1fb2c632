"""`plan_rounds` as an outside caller meets it."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from geographiclib.geodesic import Geodesic

from registry.models import Approval, Assignment, Certification, Change, Firm
from reports.models import Plan, PlanLeftOut, PlanningRules, Round
from scheduling.models import AssemblyState
from tests.reports.rounds.office import MONDAY, NOON, TODAY, Office, minutes, run, stops_of

pytestmark = pytest.mark.django_db

KEYS = {
    "feasible",
    "visits",
    "planned",
    "unplanned",
    "drive_minutes",
    "minutes",
    "work_minutes",
    "travel",
    "rounds",
}


@pytest.fixture
def office() -> Office:
    return Office()


def least_minutes(here: dict[str, Any], there: dict[str, Any], travel: dict[str, Any]) -> float:
    """Travel by geographiclib's distance, less the 0.56 % a sphere may be off."""
    found = Geodesic.WGS84.Inverse(here["lat"], here["lon"], there["lat"], there["lon"])
    hours = found["s12"] / 1000 * travel["factor"] / travel["speed"]
    return float(hours * 60 * 0.9944)


def test_a_week_is_planned_with_every_promised_key(office: Office) -> None:
    office.tester("T-1")
    office.town(visits=20)
    said = office.plan()
    assert said.code == 0
    assert set(said.json) == KEYS
    assert said.json["feasible"] is True
    assert said.json["visits"] == 20
    assert said.json["planned"] == len(stops_of(said)) == 20
    assert said.json["unplanned"] == []
    assert set(said.json["travel"]) == {"how", "factor", "speed"}
    for one in said.json["rounds"]:
        assert set(one) == {"tester", "date", "start", "end", "lunch", "depot", "stops"}
        assert set(one["depot"]) == {"lat", "lon"}
        for stop in one["stops"]:
            assert set(stop) >= {"premises", "lat", "lon", "arrive", "leave", "assemblies"}


def test_every_day_can_be_driven_by_distances_of_geographiclib(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2", firm="Quill Backflow", depot_lat="46.900000", depot_lon="-118.300000")
    office.town(visits=40)
    said = office.plan()
    driven = 0
    for one in said.json["rounds"]:
        clock, here = one["start"], one["depot"]
        for stop in one["stops"]:
            needed = least_minutes(here, stop, said.json["travel"])
            assert minutes(clock, stop["arrive"]) >= needed
            assert minutes(stop["arrive"], stop["leave"]) >= 30  # set-up 10, an RP 20
            driven += math.ceil(needed - 1e-6)
            clock, here = stop["leave"], stop
        home = least_minutes(here, one["depot"], said.json["travel"])
        assert minutes(clock, one["end"]) >= home
        driven += math.ceil(home - 1e-6)
    assert abs(driven - said.json["drive_minutes"]) <= 1 + driven * 0.02
    assert said.json["work_minutes"] == 40 * 30


def test_without_hours_or_depot_the_day_is_the_usual_one_from_the_mean(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(lat=46.80, lon=-118.30))
    office.due(office.premises(lat=46.90, lon=-118.10))
    said = office.plan(days=7)
    assert {one["date"] for one in said.json["rounds"]} <= {
        (MONDAY + timedelta(days=n)).isoformat() for n in range(5)
    }
    (first, *_rest) = said.json["rounds"]
    assert first["start"] == f"{first['date']}T08:00:00-08:00"
    assert first["end"] == f"{first['date']}T16:30:00-08:00"
    assert first["depot"] == {"lat": 46.85, "lon": -118.2}


def test_nobody_drives_at_the_week_end(office: Office) -> None:
    office.tester("T-1")
    office.town(visits=3)
    said = office.plan(first_day=date(2026, 11, 28), days=2)
    assert said.json["rounds"] == []
    assert {left["reason"].split(":")[0] for left in said.json["unplanned"]} == {"no tester"}


def test_nobody_drives_on_a_public_holiday_unless_the_program_works_then(office: Office) -> None:
    office.program.state = "WA"
    office.program.save()
    office.tester("T-1")
    office.town(visits=70)
    # Washington's legal holidays (RCW 1.16.050): Christmas, and Saturday's on the Friday before.
    week = date(2027, 12, 20)
    dates = {one["date"] for one in office.plan(first_day=week).json["rounds"]}
    assert dates == {"2027-12-20", "2027-12-21", "2027-12-22", "2027-12-23"}
    PlanningRules.objects.create(
        program=office.program, holidays_off=False, changed_at=NOON, by="dora"
    )
    dates = {one["date"] for one in office.plan(first_day=week).json["rounds"]}
    assert "2027-12-24" in dates


def test_recorded_hours_and_days_off_are_kept(office: Office) -> None:
    hours = {"1": [["09:00", "12:00"], ["13:00", "15:00"]], "5": [["07:00", "11:00"]]}
    office.tester("T-1", hours=hours, days_off=["2026-12-05"])
    office.town(visits=12)
    said = office.plan(days=7)
    (tuesday,) = said.json["rounds"]
    assert tuesday["date"] == "2026-12-01"
    assert (tuesday["start"][11:16], tuesday["end"][11:16]) == ("09:00", "15:00")
    for stop in tuesday["stops"]:  # nobody is served between twelve and one
        assert stop["leave"][11:16] <= "12:00" or stop["arrive"][11:16] >= "13:00"
    assert said.json["feasible"] is True


def test_what_opens_within_the_days_is_planned_and_what_opens_after_is_not(
    office: Office,
) -> None:
    office.tester("T-1")
    for opens_on in (MONDAY, date(2026, 12, 4), date(2026, 12, 5)):
        office.due(office.premises(), opens_on=opens_on)
    office.due(office.premises(), closed_on=date(2026, 11, 20), closed_how="met")
    said = office.plan(days=5)
    assert said.json["visits"] == 2
    assert sorted(stop["premises"] for stop in stops_of(said)) == ["A-1", "A-3"]


def test_idle_and_removed_assemblies_are_not_visited(office: Office) -> None:
    office.tester("T-1")
    for fields in ({"idle_since": TODAY}, {"removed_on": TODAY}, {}):
        owed = office.due(office.premises())
        AssemblyState.objects.create(
            assembly=owed.its_assembly,
            program=office.program,
            replayed_as_of=TODAY,
            replayed_at=NOON,
            **fields,
        )
    assert [stop["premises"] for stop in stops_of(office.plan())] == ["A-5"]


def test_twin_assemblies_are_one_visit_with_one_set_up(office: Office) -> None:
    office.tester("T-1")
    premises = office.premises()
    for _ in range(3):
        office.due(premises)
    (stop,) = stops_of(office.plan())
    assert stop["assemblies"] == ["S2", "S3", "S4"]
    assert minutes(stop["arrive"], stop["leave"]) == 10 + 3 * 20


def test_premises_without_coordinates_are_told_and_nothing_else_is(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(lat=None, lon=None, account="LOST"))
    office.due(office.premises())
    said = office.plan()
    assert said.code == 0
    assert (said.json["visits"], said.json["planned"]) == (2, 1)
    (left,) = said.json["unplanned"]
    assert left["premises"] == "LOST"
    assert "no coordinates" in left["reason"]
    assert PlanLeftOut.objects.get().kind == "no coordinates"


def test_only_premises_without_coordinates_make_a_plan_without_rounds(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(lat=None, lon=None))
    said = office.plan()
    assert said.json["rounds"] == []
    assert "no coordinates" in said.json["unplanned"][0]["reason"]


def test_no_testers_and_no_visits_are_plans_too(office: Office) -> None:
    assert office.plan().json["visits"] == 0
    office.town(visits=3)
    said = office.plan()
    assert said.code == 0
    assert said.json["feasible"] is True
    assert (said.json["visits"], said.json["planned"], said.json["drive_minutes"]) == (3, 0, 0)
    assert all(left["reason"].startswith("no tester") for left in said.json["unplanned"])


def test_more_work_than_hours_leaves_out_the_least_urgent(office: Office) -> None:
    office.tester("T-1")
    for n in range(30):
        office.due(office.premises(), failed_on=TODAY if n % 2 else None)
    said = office.plan(days=1)
    assert said.json["planned"] == 17  # 17 x 30 minutes at one place fill 8 h 30
    failed = {f"A-{1 + 2 * n}" for n in range(30) if n % 2}
    assert failed <= {stop["premises"] for stop in stops_of(said)}
    assert {left["reason"].split(":")[0] for left in said.json["unplanned"]} == {"not enough hours"}


@pytest.mark.parametrize(
    ("change", "planned"),
    [
        ({"valid_to": date(2026, 12, 1)}, {"2026-11-30", "2026-12-01"}),
        ({"valid_from": date(2026, 12, 3)}, {"2026-12-03", "2026-12-04"}),
        ({"valid_to": date(2026, 11, 29)}, set()),
    ],
)
@pytest.mark.parametrize("what", [Certification, Approval])
def test_a_tester_drives_only_on_days_that_certificate_and_approval_hold(
    office: Office, change: dict[str, date], planned: set[str], what: Any
) -> None:
    office.tester("T-1", hours={str(n): [["08:00", "09:00"]] for n in range(5)})
    rows = what.objects.filter(program=office.program)
    (rows.filter(tester__isnull=False) if what is Approval else rows).update(**change)
    for _ in range(10):
        office.due(office.premises())
    assert {one["date"] for one in office.plan().json["rounds"]} == planned


def test_a_company_that_is_not_approved_sends_nobody(office: Office) -> None:
    office.tester("T-1")
    Approval.objects.filter(tester__isnull=True).update(valid_to=date(2026, 11, 29))
    office.town(visits=2)
    assert office.plan().json["planned"] == 0


def test_open_hours_closed_days_and_days_of_notice_are_respected(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(open_hours={"2": [["13:00", "14:00"]]}, account="HOURS"))
    closed = [(MONDAY + timedelta(days=n)).isoformat() for n in (0, 1, 2, 3)]
    office.due(office.premises(closed_days=closed, account="CLOSED"))
    office.due(office.premises(notice_days=8, account="NOTICE"))  # 25 November and eight days
    office.due(office.premises(notice_days=30, account="LATER"))
    office.due(office.premises(open_hours={"0": [["20:00", "21:00"]]}, account="NIGHT"))
    said = office.plan()
    when = {stop["premises"]: stop["arrive"] for stop in stops_of(said)}
    assert when["HOURS"][:10] == "2026-12-02"
    assert "13:00" <= when["HOURS"][11:16] <= "13:30"
    assert when["CLOSED"][:10] == "2026-12-04"
    assert when["NOTICE"][:10] >= "2026-12-03"
    reasons = {left["premises"]: left["reason"] for left in said.json["unplanned"]}
    assert "notice too short" in reasons["LATER"]
    assert "open hours" in reasons["NIGHT"]


def test_the_clock_change_moves_no_appointment_and_shortens_no_drive(office: Office) -> None:
    # Clocks go forward on Sunday 8 March 2026 in Los Angeles; this tester works week-ends too.
    office.tester("T-1", hours={str(n): [["00:30", "06:00"]] for n in (4, 5, 6, 0)})
    office.town(visits=40, opens_on=date(2026, 2, 1))
    said = office.plan(first_day=date(2026, 3, 6), days=4)
    assert said.json["feasible"] is True
    days = {one["date"]: one for one in said.json["rounds"]}
    assert {date: one["start"][19:] for date, one in days.items()} == {
        "2026-03-06": "-08:00",
        "2026-03-07": "-08:00",
        "2026-03-08": "-08:00",
        "2026-03-09": "-07:00",
    }
    assert days["2026-03-08"]["end"] == "2026-03-08T06:00:00-07:00"
    lengths = {date: minutes(one["start"], one["end"]) for date, one in days.items()}
    assert lengths["2026-03-08"] == 270  # 00:30 to 06:00 is four and a half hours that night
    assert lengths["2026-03-07"] == 330
    for one in said.json["rounds"]:
        for before, after in pairwise(one["stops"]):
            needed = least_minutes(before, after, said.json["travel"])
            assert minutes(before["leave"], after["arrive"]) >= needed


def test_rounds_belong_to_the_firm_and_it_is_assigned_what_it_visits(office: Office) -> None:
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    office.tester("T-2", firm="Quill Backflow", depot_lat="46.95", depot_lon="-118.0")
    near_first = office.due(office.premises(lat=46.801, lon=-118.251)).where
    near_second = office.due(office.premises(lat=46.951, lon=-118.001)).where
    office.plan()
    found = {row.premises: row.firm.name for row in Assignment.objects.filter(ended_on=None)}
    assert found == {near_first: "Stillbrook Testing", near_second: "Quill Backflow"}
    assert {one.firm.name for one in Round.objects.all()} == set(found.values())
    assert {(row.how, row.made_on) for row in Assignment.objects.all()} == {("plan", TODAY)}


def test_the_assigned_company_without_a_tester_leaves_the_visit_with_the_reason(
    office: Office,
) -> None:
    office.tester("T-1")
    premises = office.due(office.premises()).where
    idle = Firm.objects.create(name="Emberline", key="emberline")
    Assignment.objects.create(
        program=office.program, firm=idle, premises=premises, made_on=TODAY, how="person"
    )
    (left,) = office.plan().json["unplanned"]
    assert left["reason"] == "no tester on these days offers: works for Emberline"


def test_another_program_neither_lends_testers_nor_work(office: Office) -> None:
    other = Office(code="other")
    other.tester("T-9", firm="Elsewhere")
    other.town(visits=4)
    office.due(office.premises(lat=46.7))
    said = office.plan()
    assert (said.json["visits"], said.json["planned"]) == (1, 0)
    assert not Plan.objects.filter(program=other.program).exists()


def test_two_premises_with_one_account_are_told_apart(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(account="ONE"))
    office.due(office.premises(account="ONE"))
    names = {stop["premises"] for stop in stops_of(office.plan())}
    assert names == {"ONE, 1 Juniper St", "ONE, 3 Juniper St"}


def test_a_plan_leaves_a_change_row_with_its_figures(office: Office) -> None:
    office.tester("T-1")
    office.town(visits=2)
    said = office.plan()
    change = Change.objects.get(what="plan")
    assert change.after["visits"] == 2
    assert change.after["drive_minutes"] == said.json["drive_minutes"]


def test_seconds_cap_the_search_and_words_go_to_standard_error(office: Office) -> None:
    office.tester("T-1")
    office.town(visits=60)
    said = office.plan("--seconds", "1.5", days=2)
    assert said.json["visits"] == 60
    assert "iterations" in said.err


def test_people_read_the_same_plan_in_lines(office: Office) -> None:
    office.tester("T-1")
    office.town(visits=2)
    arguments = ("--program", "flats", "--from", "2026-11-30", "--days", "1", "--iterations", "5")
    said = run("plan_rounds", *arguments)
    assert said.out.startswith("2 visits from 2026-11-30 for 1 days: 2 planned, 0 not.")


def test_hours_that_another_program_has_planned_are_left_free_and_unnamed(office: Office) -> None:
    """A testing company's week mixes programs; each sees its own, and none plans twice."""
    tester = office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    office.town(visits=3)
    other = Office(code="hills")
    for whom in (None, tester):
        Approval.objects.create(
            program=other.program, firm=tester.firm, tester=whom, valid_from=date(2025, 1, 1)
        )
    Certification.objects.create(
        program=other.program, tester=tester,
        valid_from=date(2025, 1, 1), valid_to=date(2027, 12, 31),
    )  # fmt: skip
    other.town(visits=4)
    first, second = office.plan(days=1), other.plan(days=1)
    assert (first.json["visits"], second.json["visits"]) == (3, 4)
    assert second.json["planned"] == 4
    assert second.json["feasible"]
    spans = sorted(
        (stop["arrive"], stop["leave"]) for said in (first, second) for stop in stops_of(said)
    )
    assert all(before[1] <= after[0] for before, after in pairwise(spans))
    assert len(stops_of(second)) == 4
    assert Plan.objects.get(program=other.program).visits == 4
