"""What a visit needs reaches the plan: two people, wishes, lunch, notice, minutes, places, jobs."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from registry.models import Assembly, Assignment, Firm, Premises
from reports.models import FieldTest, Job, NotForVisit, PlanLeftOut, PlanningRules, Round, Stop
from reports.rounds.changing import (
    call_off,
    mark_stop,
    move_stop,
    slots_for,
    undo_change,
)
from tests.reports.rounds.office import MONDAY, NOON, TODAY, Office, at, stops_of
from tests.reports.rounds.test_changing import changer, driver_of, everything

pytestmark = pytest.mark.django_db

TUESDAY = MONDAY + timedelta(days=1)
CONFINED = ["confined space"]


@pytest.fixture
def office() -> Office:
    return Office()


def vault(office: Office) -> Premises:
    """A premises whose one assembly stands in a permit space."""
    site = office.premises(name="Larch Vault")
    office.due(site, assembly={"permit_space": True})
    return site


def wish(premises: Premises, **named: object) -> NotForVisit:
    return NotForVisit.objects.create(
        premises=premises, reason="dog bitten", at=NOON, by="dora", **named
    )


def local_day(stop: Stop, office: Office) -> date:
    return stop.arrives_at.astimezone(ZoneInfo(office.zone)).date()


def test_a_permit_space_has_two_testers_at_the_same_minutes(office: Office) -> None:
    office.tester("T-1", skills=CONFINED)
    office.tester("T-2", skills=CONFINED)
    office.tester("T-3")
    site = vault(office)
    office.town(visits=8)
    said = office.plan()
    assert (said.json["feasible"], said.json["visits"], said.json["planned"]) == (True, 9, 9)
    first, second = Stop.objects.filter(premises=site).order_by("second_of_id")
    if first.second_of_id:
        first, second = second, first
    assert second.second_of_id == first.pk
    assert (first.arrives_at, first.leaves_at) == (second.arrives_at, second.leaves_at)
    assert driver_of(first) != driver_of(second)
    assert second.round is not None
    assert second.round.tester.skills == CONFINED
    assert [stop["second_person"] for stop in stops_of(said)].count(True) == 1
    before = everything()
    office.plan()  # the same two come again, by the same rows
    assert {pk for pk, one in everything().items() if one["cancelled_at"] is None} == set(before)


def test_with_one_able_tester_a_permit_space_waits_and_says_why(office: Office) -> None:
    office.tester("T-1", skills=CONFINED)
    office.tester("T-2")
    vault(office)
    (left,) = office.plan().json["unplanned"]
    assert left["reason"].startswith("it needs two people at once with confined space")
    assert left["helps"] == "one more tester with confined space on Monday, November 30"


def test_without_the_skill_on_record_nobody_is_sent(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2")
    vault(office)
    assert PlanLeftOut.objects.count() == 0
    office.plan()
    assert PlanLeftOut.objects.get().kind == "no skill"


def test_a_vault_nobody_judged_is_planned_for_one(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(), assembly={"in_vault": True})
    assert office.plan().json["planned"] == 1


def test_what_is_promised_or_called_off_holds_for_both(office: Office) -> None:
    office.tester("T-1", skills=CONFINED)
    office.tester("T-2", skills=CONFINED)
    vault(office)
    office.plan()
    stop = Stop.objects.get(second_of=None)
    changed = mark_stop(changer(office), stop, act="promise", seen=stop.revision)
    assert changed.broken == ()
    assert Stop.objects.filter(promised_at__isnull=False).count() == 2
    kept = {one.pk: (one.arrives_at, driver_of(one)) for one in Stop.objects.all()}
    assert office.plan().json["feasible"] is True
    assert {one.pk: (one.arrives_at, driver_of(one)) for one in Stop.objects.all()} == kept
    stop.refresh_from_db()
    called = call_off(changer(office), stop, reason="flooded", seen=stop.revision)
    assert Stop.objects.filter(cancelled_at__isnull=True).count() == 0
    undo_change(changer(office), called.row)
    assert Stop.objects.filter(cancelled_at__isnull=True).count() == 2


def test_a_second_person_who_is_taken_away_is_told_on_the_day(office: Office) -> None:
    office.tester("T-1", skills=CONFINED)
    office.tester("T-2", skills=CONFINED)
    vault(office)
    office.plan()
    Stop.objects.filter(second_of__isnull=False).update(cancelled_at=NOON)
    stop = Stop.objects.get(second_of=None)
    changed = mark_stop(changer(office), stop, act="pin", seen=stop.revision)
    assert len(changed.broken) == 1
    assert "it takes two people at once, and one of them is missing" in changed.broken[0]


@pytest.mark.parametrize(
    ("named", "day"),
    [
        ({"weekday": 0}, TUESDAY),
        ({"on": MONDAY}, TUESDAY),
        ({"weekday": 0, "until_on": MONDAY - timedelta(days=1)}, MONDAY),
        ({"weekday": 0, "ended_at": NOON}, MONDAY),
    ],
)
def test_a_day_that_is_not_wanted_is_not_planned(
    office: Office, named: dict[str, object], day: date
) -> None:
    office.tester("T-1")
    office.due(office.premises())
    wish(Premises.objects.get(), **named)
    office.plan(days=2)
    assert local_day(Stop.objects.get(), office) == day


def test_a_tester_who_is_not_wanted_does_not_come_and_by_hand_it_is_told(office: Office) -> None:
    unwanted = office.tester("T-1", depot_lat="46.85", depot_lon="-118.20")
    other = office.tester("T-2", depot_lat="46.95", depot_lon="-118.40")
    site = office.premises(name="Cooper Laundry")
    office.due(site)
    wish(site, tester=unwanted)
    assert office.plan().json["feasible"] is True
    stop = Stop.objects.get()
    assert driver_of(stop) == other.pk
    assert {slot.day.tester for slot in slots_for(changer(office), site)[0]} <= {str(other.pk)}
    changed = move_stop(
        changer(office), stop, tester_id=unwanted.pk, on=TUESDAY, place=1, seen=stop.revision
    )
    (told,) = changed.broken
    assert told.startswith("Tester T-1, Tuesday, Cooper Laundry: the customer asked not to have")
    assert told.endswith("(dog bitten).")


def test_when_only_the_unwanted_could_come_it_is_said(office: Office) -> None:
    unwanted = office.tester("T-1")
    office.due(office.premises())
    wish(Premises.objects.get(), tester=unwanted)
    (left,) = office.plan().json["unplanned"]
    assert left["reason"].startswith("the customer asked not to have whoever could come")
    assert left["helps"].startswith("ask the customer")


def test_a_lunch_of_the_company_or_the_tester_is_kept_and_shown(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2", lunch_minutes=45, lunch_from=time(12), lunch_to=time(13))
    office.tester("T-3", lunch_minutes=0)
    Firm.objects.update(lunch_minutes=30)
    office.town(visits=45)
    said = office.plan(days=1)
    assert said.json["feasible"] is True
    lunches = {one["tester"]: one["lunch"] for one in said.json["rounds"]}
    assert lunches["T-3"] is None
    for row in Round.objects.exclude(tester__certificate="T-3"):
        assert row.lunch_from is not None
        assert row.lunch_to is not None
        mine = row.tester.certificate == "T-2"
        assert row.lunch_to - row.lunch_from == timedelta(minutes=45 if mine else 30)
        since, until = (time(12), time(13)) if mine else (time(11), time(13, 30))
        assert at(MONDAY, since, office) <= row.lunch_from
        assert row.lunch_to <= at(MONDAY, until, office)
        for stop in row.stops.all():  # nobody tests while eating
            assert stop.leaves_at <= row.lunch_from or stop.arrives_at >= row.lunch_to


def test_a_day_of_six_hours_has_no_lunch(office: Office) -> None:
    office.tester("T-1", hours={"0": [["08:00", "14:00"]]}, lunch_minutes=30)
    office.town(visits=3)
    (one,) = office.plan().json["rounds"]
    assert one["lunch"] is None


def test_a_tester_whose_record_holds_no_hours_on_any_day_of_the_plan(office: Office) -> None:
    office.tester("T-1", hours={"5": [["08:00", "12:00"]]})
    office.town(visits=1)
    (left,) = office.plan().json["unplanned"]
    assert left["reason"].startswith("no tester")


def test_no_more_visits_than_a_tester_takes(office: Office) -> None:
    office.tester("T-1", most_visits=2)
    office.town(visits=5)
    said = office.plan(days=2)
    assert [len(one["stops"]) for one in said.json["rounds"]] == [2, 2]


@pytest.mark.parametrize(
    ("twin", "opens"),
    [(False, TODAY + timedelta(days=6)), (True, MONDAY)],
)
def test_days_before_a_shutdown_bind_where_the_water_goes_off(
    office: Office, twin: bool, opens: date
) -> None:
    office.tester("T-1")
    site = office.premises(shutdown_days=6, shutdown_tell="the plant manager")
    office.due(site, assembly={"has_twin": twin})
    office.plan()
    assert local_day(Stop.objects.get(), office) == opens


def test_fire_lines_go_to_whoever_is_on_record_for_them(office: Office) -> None:
    able = office.tester("T-2", skills=["fire lines"], depot_lat="47.00", depot_lon="-118.5")
    office.tester("T-1", depot_lat="46.85", depot_lon="-118.2")
    office.due(office.premises(), service="fire")
    office.plan()
    assert driver_of(Stop.objects.get()) == able.pk


def past_tests(office: Office, *, visits: int, gap: int) -> None:
    """Visits of two RPs, the second so many minutes after the first."""
    tester = office.tester("T-1")
    for n in range(visits):
        site = office.premises()
        for number in (0, 1):
            office.due(site, opens_on=date(2027, 6, 1), due_on=date(2027, 7, 1))
            FieldTest.objects.create(
                program=office.program, assembly=Assembly.objects.latest("pk"), tester=tester,
                digest=f"{n}-{number}", tested_on=date(2026, 3, 2) + timedelta(days=n),
                tested_at=time(9, number * gap), method="usc10", recorded_at=NOON,
            )  # fmt: skip


def test_minutes_are_learned_from_twenty_tests_and_the_plan_says_so(office: Office) -> None:
    past_tests(office, visits=20, gap=33)
    office.due(office.premises())
    said = office.plan()
    assert said.json["minutes"] == "learned: RP 33 min from 20 tests; the rest common practice"
    (stop,) = stops_of(said)
    spent = datetime.fromisoformat(stop["leave"]) - datetime.fromisoformat(stop["arrive"])
    assert spent == timedelta(minutes=10 + 33)


def test_nineteen_are_not_enough_and_a_program_may_leave_it(office: Office) -> None:
    past_tests(office, visits=19, gap=33)
    office.due(office.premises())
    assert office.plan().json["minutes"] == "common practice"
    PlanningRules.objects.create(
        program=office.program, learns_minutes=False, changed_at=NOON, by="x"
    )
    assert office.plan().json["minutes"] == "common practice"


def test_zip_codes_place_what_has_no_coordinates_where_the_program_lets_them(
    office: Office,
) -> None:
    office.tester("T-1", depot_lat="47.07", depot_lon="-117.60")
    office.due(office.premises(lat=None, lon=None))
    (left,) = office.plan().json["unplanned"]
    assert left["reason"].startswith("no coordinates")
    PlanningRules.objects.create(
        program=office.program, places_by_zip=True, changed_at=NOON, by="x"
    )
    lost = office.premises(account="LOST", lat=None, lon=None)
    lost.zip = "00000"  # no such ZIP code: set aside, and told
    lost.save()
    office.due(lost)
    said = office.plan()
    (left,) = said.json["unplanned"]
    assert (left["premises"], left["reason"].split(":")[0]) == ("LOST", "no coordinates")
    (stop,) = stops_of(said)
    assert stop["by_zip"] is True
    # The middle of 99171 by the package zipcodes, as of its version 3.0.0.
    assert (stop["lat"], stop["lon"]) == (47.0755, -117.573)


def job(premises: Premises, **fields: object) -> Job:
    return Job.objects.create(
        program=premises.program, premises=premises, asked_by="O. Larch", asked_on=TODAY,
        recorded_at=NOON, by="dora", **fields,
    )  # fmt: skip


def test_where_not_all_is_assigned_only_jobs_and_assignments_are_planned(office: Office) -> None:
    office.tester("T-1")
    sites = [office.premises(account=f"J-{n}") for n in range(5)]
    for site in sites:
        office.due(site)
    PlanningRules.objects.create(
        program=office.program, due_is_assigned=False, changed_at=NOON, by="x"
    )
    firm = Firm.objects.get()
    Assignment.objects.create(
        program=office.program, firm=firm, premises=sites[0], made_on=TODAY, how="by hand"
    )
    job(sites[1], covers_until=date(2026, 12, 31))
    job(sites[2], covers_until=date(2026, 12, 1))  # what is due on the 15th is not covered
    job(sites[3], cancelled_at=NOON)
    said = office.plan()
    assert {stop["premises"] for stop in stops_of(said)} == {"J-0", "J-1"}
    assert said.json["visits"] == 2
    office.plan()  # what a plan assigned is no job of its own
    assert Stop.objects.filter(cancelled_at__isnull=True).count() == 2


def test_a_job_may_name_the_company(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2", firm="Quill Backflow")
    site = office.premises()
    office.due(site)
    job(site, firm=Firm.objects.get(name="Quill Backflow"))
    office.plan()
    one = Stop.objects.get().round
    assert one is not None
    assert one.firm.name == "Quill Backflow"


@pytest.mark.parametrize("first", [date(2027, 3, 14), date(2026, 11, 1)])
def test_a_day_on_which_the_clocks_change_keeps_lunch_and_hours(
    office: Office, first: date
) -> None:
    """US daylight saving: 2 am on 14 March 2027 and 1 November 2026 (15 U.S.C. 260a)."""
    office.tester("T-1", hours={"6": [["08:00", "16:30"]]}, lunch_minutes=30)
    office.town(visits=20)
    said = office.plan(first_day=first, days=1)
    assert said.json["feasible"] is True
    (one,) = said.json["rounds"]
    assert (one["start"][11:16], one["end"][11:16]) == ("08:00", "16:30")
    assert "11:00" <= one["lunch"][11:16] <= "13:00"


def test_forty_locked_stops_are_where_they_were_after_a_replan(office: Office) -> None:
    for number in range(4):
        office.tester(f"T-{number}")
    office.town(visits=60)
    office.plan()
    locked = list(Stop.objects.order_by("pk")[:40])
    Stop.objects.filter(pk__in=[one.pk for one in locked]).update(
        promised_at=datetime(2026, 11, 25, tzinfo=UTC)
    )
    kept = {one.pk: (one.arrives_at, one.leaves_at, driver_of(one)) for one in locked}
    office.town(visits=20, due_on=date(2026, 11, 1), failed_on=date(2026, 10, 1))
    said = office.plan("--seed", "9")
    assert said.json["feasible"] is True
    after = Stop.objects.filter(pk__in=kept)
    assert {one.pk: (one.arrives_at, one.leaves_at, driver_of(one)) for one in after} == kept


def test_two_promises_that_exclude_each_other_name_each_other(office: Office) -> None:
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    for name, lat in (("Aspen Court", 46.80), ("Birch Court", 46.95)):
        office.due(office.premises(name=name, lat=lat))
    office.plan(days=1)
    first, second = Stop.objects.order_by("arrives_at")
    Stop.objects.filter(pk=second.pk).update(arrives_at=first.arrives_at, leaves_at=first.leaves_at)
    Stop.objects.update(promised_at=NOON)
    said = office.plan(days=1)
    assert said.json["feasible"] is False
    (left,) = said.json["unplanned"]
    assert left["reason"].startswith("promised to the customer")
    named = {stop.premises.name for stop in Stop.objects.select_related("premises")}
    assert any(left["helps"] == f"it cannot be kept beside the promise to {n}" for n in named)
