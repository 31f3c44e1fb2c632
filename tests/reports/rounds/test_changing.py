"""Planned days changed by hand: what is promised stays, what breaks is told, all can be undone."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from registry.changes import Hand
from registry.models import Assignment
from reports.models import PlanChange, Round, Stop
from reports.rounds.changing import (
    Changer,
    ChangeRefusedError,
    call_off,
    mark_stop,
    move_stop,
    promise_slot,
    slots_for,
    undo_change,
)
from reports.rounds.day_writing import shown
from reports.rounds.week import Horizon
from tests.reports.rounds.office import MONDAY, TODAY, Office

pytestmark = pytest.mark.django_db

TUESDAY = date(2026, 12, 1)


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    return office


def changer(office: Office, *, days: int = 5) -> Changer:
    horizon = Horizon(MONDAY, days, ZoneInfo(office.zone), TODAY)
    hand = Hand(by="Dispatcher", at=datetime(2026, 11, 25, 21, tzinfo=UTC))
    return Changer(program=office.program, horizon=horizon, hand=hand)


def driver_of(stop: Stop) -> int:
    assert stop.round is not None
    return stop.round.tester_id


def everything() -> dict[int, dict[str, object]]:
    return {stop.pk: shown(stop) for stop in Stop.objects.all()}


def test_a_new_visit_takes_the_cheapest_slot_and_is_promised(office: Office) -> None:
    office.town(visits=6)
    office.plan()
    new = office.premises(name="Cooper Laundry", lat=46.82, lon=-118.25)
    office.due(new)
    slots, _planned = slots_for(changer(office), new)
    best = slots[0]
    assert [slot.extra_minutes for slot in slots] == sorted(slot.extra_minutes for slot in slots)
    changed = promise_slot(
        changer(office), new, tester_id=int(best.day.tester), on=best.day.day, arrive=best.arrive
    )
    assert changed.broken == ()
    stop = Stop.objects.select_related("round").get(premises=new)
    assert stop.promised_by == "Dispatcher"
    assert [work.assembly.premises_id for work in stop.work.all()] == [new.pk]
    assert Assignment.objects.filter(premises=new, ended_on=None).count() == 1
    office.plan()  # a replan leaves it where it was promised
    again = Stop.objects.get(premises=new)
    assert (again.arrives_at, driver_of(again)) == (stop.arrives_at, driver_of(stop))


def test_a_slot_that_is_gone_is_refused(office: Office) -> None:
    office.town(visits=2)
    office.plan()
    new = office.premises(lat=46.82, lon=-118.25)
    office.due(new)
    slot = slots_for(changer(office), new)[0][0]
    with pytest.raises(ChangeRefusedError, match="look at the best times again"):
        promise_slot(
            changer(office), new, tester_id=int(slot.day.tester), on=slot.day.day,
            arrive=slot.arrive + 1,
        )  # fmt: skip
    assert not Stop.objects.filter(premises=new).exists()
    assert not PlanChange.objects.exists()


def test_an_hour_taken_by_another_program_is_not_offered(office: Office) -> None:
    other = Office(code="hills")
    office.town(visits=1)
    office.plan()
    stop = Stop.objects.get()
    # The same tester has a visit of another program all day on Tuesday.
    site = other.premises(lat=46.80, lon=-118.25)
    zone = ZoneInfo(office.zone)
    row = Round.objects.get()
    row.pk, row.on = None, TUESDAY
    row.save()
    Stop.objects.create(
        program=other.program, round=row, premises=site, uid="other",
        arrives_at=datetime.combine(TUESDAY, time(8), zone),
        leaves_at=datetime.combine(TUESDAY, time(16), zone), revised_at=stop.revised_at,
    )  # fmt: skip
    new = office.premises(lat=46.82, lon=-118.25)
    office.due(new)
    slots, planned = slots_for(changer(office), new)
    assert TUESDAY not in {slot.day.day for slot in slots}
    assert len(slots) == 4
    assert site.pk not in {visit.premises.pk for visit in planned.week.visits.values()}


def test_a_visit_moves_to_another_day_and_back_by_undo(office: Office) -> None:
    office.town(visits=5)
    office.plan()
    before = everything()
    stop = Stop.objects.order_by("arrives_at")[0]
    changed = move_stop(
        changer(office), stop, tester_id=driver_of(stop), on=TUESDAY, place=1, seen=stop.revision
    )
    assert changed.broken == ()
    moved = Stop.objects.get(pk=stop.pk)
    assert moved.arrives_at.astimezone(ZoneInfo(office.zone)).date() == TUESDAY
    assert moved.revision == stop.revision + 1
    undo_change(changer(office), changed.row)
    assert everything() == before
    assert Stop.objects.get(pk=stop.pk).revision == stop.revision + 2
    with pytest.raises(ChangeRefusedError, match="changed again since"):
        undo_change(changer(office), changed.row)


def driven_on(office: Office, day: tuple[str, date]) -> int:
    """Minutes driven on a tester's day as it is planned now, from the depot and back."""
    planned = changer(office).read()
    problem = planned.week.problem
    depot = problem.day_by_key[day].depot
    places = [one.place for one in planned.draft.orders[day] if one.place is not None]
    return sum(problem.travel.between(a, b) for a, b in pairwise([depot, *places, depot]))


def test_a_visit_moved_without_a_place_goes_where_it_adds_least_driving(office: Office) -> None:
    office.town(visits=5)
    office.plan()
    for key in list(Stop.objects.order_by("arrives_at").values_list("pk", flat=True)[:3]):
        stop = Stop.objects.get(pk=key)
        move_stop(changer(office), stop, tester_id=driver_of(stop), on=TUESDAY, place=1,
                  seen=stop.revision)  # fmt: skip
    pk = Stop.objects.order_by("arrives_at")[0].pk
    day = (str(driver_of(Stop.objects.get(pk=pk))), TUESDAY)
    driven = {}
    for place in (None, 1, 2, 3, 4):
        stop = Stop.objects.get(pk=pk)
        changed = move_stop(changer(office), stop, tester_id=driver_of(stop), on=TUESDAY,
                            place=place, seen=stop.revision)  # fmt: skip
        driven[place] = driven_on(office, day)
        undo_change(changer(office), changed.row)
    assert len(set(driven.values())) > 1
    assert driven[None] == min(driven.values())


def test_what_a_move_breaks_is_told_in_words_and_done_all_the_same(office: Office) -> None:
    office.due(office.premises(name="Cooper Laundry", open_hours={"0": [["08:00", "12:00"]]}))
    office.plan()
    stop = Stop.objects.get()
    changed = move_stop(
        changer(office), stop, tester_id=driver_of(stop), on=TUESDAY, place=1, seen=stop.revision
    )
    assert changed.broken == (
        "Tester T-1, Tuesday, Cooper Laundry: the visit is outside the open hours there.",
    )


def test_what_was_looked_at_in_another_state_is_not_changed(office: Office) -> None:
    office.town(visits=2)
    office.plan()
    stop = Stop.objects.order_by("arrives_at")[0]
    with pytest.raises(ChangeRefusedError, match="look at it again"):
        move_stop(
            changer(office), stop, tester_id=driver_of(stop), on=TUESDAY, place=1,
            seen=stop.revision + 1,
        )  # fmt: skip


def test_a_pinned_visit_stays_in_a_replan_until_it_is_free(office: Office) -> None:
    office.town(visits=4)
    office.plan()
    stop = Stop.objects.order_by("arrives_at")[0]
    moved = move_stop(
        changer(office), stop, tester_id=driver_of(stop), on=date(2026, 12, 4), place=1,
        seen=stop.revision,
    )  # fmt: skip
    assert moved.broken == ()
    stop.refresh_from_db()
    mark_stop(changer(office), stop, act="pin", seen=stop.revision)
    office.plan()
    pinned = Stop.objects.get(pk=stop.pk)
    assert pinned.arrives_at == stop.arrives_at
    assert pinned.promised_at is None
    mark_stop(changer(office), pinned, act="free", seen=pinned.revision)
    office.plan()
    assert Stop.objects.get(pk=stop.pk).arrives_at < stop.arrives_at


def test_a_visit_is_called_off_with_a_reason_and_comes_back_by_undo(office: Office) -> None:
    office.town(visits=3)
    office.plan()
    before = everything()
    stop = Stop.objects.order_by("arrives_at")[0]
    with pytest.raises(ChangeRefusedError, match="Say why"):
        call_off(changer(office), stop, reason=" ", seen=stop.revision)
    changed = call_off(changer(office), stop, reason="owner away", seen=stop.revision)
    assert Stop.objects.get(pk=stop.pk).cancelled_at is not None
    first = Stop.objects.filter(cancelled_at=None).order_by("arrives_at")[0]
    assert first.place == 1
    undo_change(changer(office), changed.row)
    assert everything() == before


def test_the_later_change_is_undone_first(office: Office) -> None:
    office.town(visits=3)
    office.plan()
    stop = Stop.objects.order_by("arrives_at")[0]
    first = mark_stop(changer(office), stop, act="pin", seen=stop.revision)
    stop.refresh_from_db()
    mark_stop(changer(office), stop, act="promise", seen=stop.revision)
    with pytest.raises(ChangeRefusedError, match="undo the later change first"):
        undo_change(changer(office), first.row)
