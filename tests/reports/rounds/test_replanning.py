"""A second plan: what was promised stays, what moved keeps its name, the rest is replaced."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from registry.models import Assignment, Certification, Firm
from reports.models import Plan, Round, Stop
from tests.reports.rounds.office import MONDAY, NOON, TODAY, Office, at, stops_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    return Office()


def test_iterations_with_a_seed_repeat_exactly_and_change_no_row(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2", firm="Quill Backflow")
    office.town(visits=30)
    first = office.plan()
    before = {stop.uid: (stop.pk, stop.revision, stop.revised_at) for stop in Stop.objects.all()}
    assert office.plan().out == first.out
    after = {stop.uid: (stop.pk, stop.revision, stop.revised_at) for stop in Stop.objects.all()}
    assert after == before
    assert Plan.objects.count() == 2
    assert Round.objects.exclude(plan=Plan.objects.first()).count() == 0


def test_a_replan_keeps_what_was_promised_to_the_minute(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2", firm="Quill Backflow")
    office.town(visits=30)
    office.plan()
    kept = list(Stop.objects.select_related("round").order_by("pk")[::4])
    Stop.objects.filter(pk__in=[stop.pk for stop in kept]).update(
        promised_at=NOON, promised_by="Dispatch"
    )
    for n in range(25):  # urgent newcomers push everything else about
        office.due(office.premises(lat=46.95, lon=-118.1 + n / 1000), failed_on=TODAY)
    said = office.plan()
    assert said.json["feasible"] is True
    now = {stop.pk: stop for stop in Stop.objects.select_related("round")}
    for stop in kept:
        same = now[stop.pk]
        assert (same.arrives_at, same.leaves_at) == (stop.arrives_at, stop.leaves_at)
        assert stop.round is not None
        assert same.round is not None
        assert same.round.tester_id == stop.round.tester_id
        assert same.round.plan == Plan.objects.first()
        assert (same.uid, same.revision) == (stop.uid, stop.revision)
        assert same.promised_at == NOON


def test_a_moved_stop_keeps_its_uid_and_raises_its_revision(office: Office) -> None:
    office.tester("T-1")
    owed = office.due(office.premises())
    office.plan(days=1)
    before = Stop.objects.get()
    office.plan(first_day=MONDAY + timedelta(days=1), days=1)
    after = Stop.objects.get()
    assert (after.pk, after.uid) == (before.pk, before.uid)
    assert after.revision == before.revision + 1
    assert after.arrives_at.date() == MONDAY + timedelta(days=1)
    assert after.work.get().obligation == owed


def test_what_is_done_meanwhile_is_called_off_and_comes_back_under_its_uid(
    office: Office,
) -> None:
    office.tester("T-1")
    owed = office.due(office.premises())
    office.plan()
    uid = Stop.objects.get().uid
    owed.closed_on = TODAY
    owed.save()
    assert office.plan().json["visits"] == 0
    called_off = Stop.objects.get()
    assert called_off.cancelled_at is not None
    assert called_off.revision == 1
    owed.closed_on = None
    owed.save()
    office.plan()
    back = Stop.objects.get()
    assert (back.uid, back.cancelled_at, back.revision) == (uid, None, 2)


def test_the_next_cycle_of_an_assembly_is_another_event(office: Office) -> None:
    office.tester("T-1")
    owed = office.due(office.premises())
    office.plan()
    owed.closed_on = date(2026, 12, 1)
    owed.save()
    owed.pk, owed.closed_on, owed.origin = None, None, "cycle:2027-12-15"
    owed.opens_on, owed.due_on = date(2027, 11, 1), date(2027, 12, 15)
    owed.save()
    office.plan(first_day=date(2027, 11, 29))
    assert len({stop.uid for stop in Stop.objects.all()}) == 2
    assert Stop.objects.filter(cancelled_at__isnull=True).count() == 2  # history stays


def test_a_promise_whose_tester_is_gone_is_told_and_not_lost(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises(account="TOLD"))
    office.plan()
    Stop.objects.update(promised_at=NOON)
    Certification.objects.update(valid_to=date(2026, 11, 26))
    office.tester("T-2")
    said = office.plan()
    assert said.json["feasible"] is False
    assert said.json["unplanned"][0]["premises"] == "TOLD"
    assert "call the customer" in said.json["unplanned"][0]["reason"]
    assert Stop.objects.get().cancelled_at is None
    assert "promised" in said.err


@pytest.mark.parametrize("promised_for", [date(2026, 11, 27), date(2026, 12, 7)])
def test_a_promise_before_or_after_the_days_is_kept_and_not_planned_again(
    office: Office, promised_for: date
) -> None:
    office.tester("T-1")
    office.due(office.premises())
    office.plan(first_day=promised_for, days=1)
    Stop.objects.update(promised_at=NOON)
    arrives_at = Stop.objects.get().arrives_at
    assert office.plan().json["visits"] == 0
    kept = Stop.objects.get()
    assert (kept.arrives_at, kept.promised_at, kept.cancelled_at) == (arrives_at, NOON, None)


def test_a_promise_that_was_missed_is_planned_anew_and_is_a_promise_no_more(
    office: Office,
) -> None:
    office.tester("T-1")
    office.due(office.premises())
    office.plan(first_day=date(2026, 11, 24), days=1)  # the day before the program's today
    Stop.objects.update(promised_at=NOON)
    assert office.plan().json["planned"] == 1
    anew = Stop.objects.get()
    assert anew.arrives_at.date() >= MONDAY
    assert (anew.promised_at, anew.revision) == (None, 1)


def test_a_replan_takes_back_its_own_assignments_and_never_a_persons(office: Office) -> None:
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    office.tester("T-2", firm="Quill Backflow", depot_lat="46.95", depot_lon="-118.0")
    premises = office.due(office.premises(lat=46.801, lon=-118.251)).where
    office.plan()
    Assignment.objects.create(
        program=office.program,
        firm=Firm.objects.get(name="Quill Backflow"),
        premises=premises,
        made_on=TODAY,
        how="person",
    )
    said = office.plan()
    assert [one["tester"] for one in said.json["rounds"]] == ["T-2"]
    running = Assignment.objects.filter(ended_on__isnull=True)
    assert [(row.firm.name, row.how) for row in running] == [("Quill Backflow", "person")]


def test_a_promise_made_while_planning_stops_the_plan(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scheduling import solver

    office.tester("T-1")
    office.town(visits=3)
    office.plan()
    solve = solver.solve

    def promise_meanwhile(*arguments: Any, **named: Any) -> solver.Solved:
        Stop.objects.filter(place=1).update(
            promised_at=datetime(2026, 11, 25, 15, tzinfo=NOON.tzinfo)
        )
        return solve(*arguments, **named)

    monkeypatch.setattr(solver, "solve", promise_meanwhile)
    said = office.plan()
    assert said.code == 2
    assert "plan again" in said.json["error"]
    assert Plan.objects.count() == 1


def test_a_promised_stop_takes_in_a_new_test_only_when_its_time_allows(office: Office) -> None:
    office.tester("T-1")
    premises = office.premises()
    office.due(premises)
    office.plan()
    stop = Stop.objects.get()
    Stop.objects.update(promised_at=NOON)
    office.due(premises)
    (same,) = stops_of(office.plan())
    assert same["assemblies"] == ["S2"]
    Stop.objects.update(leaves_at=stop.arrives_at + timedelta(minutes=50))
    (longer,) = stops_of(office.plan())
    assert longer["assemblies"] == ["S2", "S3"]
    assert longer["arrive"] == at(MONDAY, time(8), office).isoformat()


def test_a_visit_stays_with_its_tester_unless_moving_it_saves_more_than_asked(
    office: Office,
) -> None:
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.20")
    office.tester("T-2", firm="Quill Backflow", depot_lat="46.90", depot_lon="-118.20")
    office.due(office.premises(account="NEAR-2", lat=46.90, lon=-118.20))
    moved = office.due(office.premises(account="NEAR-1", lat=46.80, lon=-118.20)).where
    office.plan(days=1)
    stop = Stop.objects.get(premises=moved)
    assert stop.round is not None
    assert stop.round.tester.certificate == "T-1"
    # Somebody gives it to the other one, 11.1 km away: 22 minutes there and 22 back.
    stop.round = Round.objects.get(tester__certificate="T-2", plan=Plan.objects.first())
    stop.save()

    def driver(*arguments: str) -> str:
        said = office.plan(*arguments, days=1)
        (one,) = [
            one["tester"]
            for one in said.json["rounds"]
            if "NEAR-1" in {stop["premises"] for stop in one["stops"]}
        ]
        return str(one)

    assert driver("--stay", "44") == "T-2"
    assert driver("--stay", "43") == "T-1"
    assert driver("--stay", "44") == "T-1"  # that is where it stands now


def test_with_a_stay_of_no_minutes_the_days_as_they_stand_begin_the_search(
    office: Office,
) -> None:
    # Both orders of these two drive alike, so whatever stands is as good as anything.
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.20")
    for account in ("A", "B"):
        office.due(office.premises(account=account, lat=46.80, lon=-118.20))
    office.plan(days=2)
    tuesday = MONDAY + timedelta(days=1)
    for stop in Stop.objects.select_related("round"):
        assert stop.round is not None
        assert stop.round.on == MONDAY
    Round.objects.update(on=tuesday)
    for stop in Stop.objects.all():
        stop.arrives_at += timedelta(days=1)
        stop.leaves_at += timedelta(days=1)
        stop.save()

    def dates(*arguments: str) -> list[str]:
        return [one["date"] for one in office.plan(*arguments, days=2).json["rounds"]]

    assert dates("--stay", "0") == [tuesday.isoformat()]
    assert dates() == [MONDAY.isoformat()]
