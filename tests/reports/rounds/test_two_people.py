"""Visits of two people changed by hand, and offered on the telephone: both come, or it is told."""

from __future__ import annotations

import pytest

from registry import models as registry
from reports.models import Round, Stop
from reports.rounds.changing import (
    Changed,
    ChangeRefusedError,
    mark_stop,
    move_stop,
    promise_slot,
    slots_for,
    undo_change,
)
from tests.reports.rounds.office import MONDAY, Office
from tests.reports.rounds.test_changing import TUESDAY, changer, driver_of, everything
from tests.reports.rounds.test_what_a_visit_needs import CONFINED, local_day, vault

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", skills=CONFINED)
    office.tester("T-2", skills=CONFINED)
    return office


def both() -> tuple[Stop, Stop]:
    stops = Stop.objects.filter(cancelled_at=None).select_related("round")
    return stops.get(second_of=None), stops.get(second_of__isnull=False)


def planned(office: Office) -> tuple[Stop, Stop]:
    """A permit space planned for both testers on Monday, and nothing else."""
    vault(office)
    office.plan()
    first, second = both()
    assert local_day(first, office) == MONDAY
    return first, second


def moved(office: Office, stop: Stop, *, tester_id: int) -> Changed:
    return move_stop(
        changer(office), stop, tester_id=tester_id, on=TUESDAY, place=1, seen=stop.revision
    )


def are_together(office: Office) -> bool:
    first, second = both()
    assert first.round is not None
    assert second.round is not None
    return (
        first.round.on == second.round.on == local_day(first, office)
        and (first.arrives_at, first.leaves_at) == (second.arrives_at, second.leaves_at)
        and first.round.tester_id != second.round.tester_id
    )


def test_both_move_to_another_day_and_back_by_undo(office: Office) -> None:
    first, second = planned(office)
    before = everything()
    changed = moved(office, first, tester_id=driver_of(first))
    assert changed.broken == ()
    now, beside = both()
    assert are_together(office)
    assert local_day(now, office) == TUESDAY
    assert (driver_of(now), driver_of(beside)) == (driver_of(first), driver_of(second))
    assert (now.revision, beside.revision) == (first.revision + 1, second.revision + 1)
    undo_change(changer(office), changed.row)
    assert everything() == before


def test_the_second_persons_day_takes_the_visit_and_the_first_stands_by(office: Office) -> None:
    first, second = planned(office)
    changed = moved(office, first, tester_id=driver_of(second))
    assert changed.broken == ()
    now, beside = both()
    assert are_together(office)
    assert (driver_of(now), driver_of(beside)) == (driver_of(second), driver_of(first))


def test_a_promise_to_the_customer_is_told_as_broken_for_both(office: Office) -> None:
    first, _second = planned(office)
    mark_stop(changer(office), first, act="promise", seen=first.revision)
    first.refresh_from_db()
    changed = moved(office, first, tester_id=driver_of(first))
    assert are_together(office)
    told = [words for words in changed.broken if "promised another time" in words]
    assert len(told) == 2


def test_who_does_not_bring_what_is_asked_for_is_told(office: Office) -> None:
    first, _second = planned(office)
    third = office.tester("T-3")
    changed = moved(office, first, tester_id=third.pk)
    assert are_together(office)
    assert len(changed.broken) == 1
    assert "Tester T-3, Tuesday, Larch Vault: the tester does not bring" in changed.broken[0]


def test_two_who_cannot_be_there_together_are_told(office: Office) -> None:
    first, second = planned(office)
    # The second one has gone by nine that day, and the visit opens at ten.
    registry.Tester.objects.filter(pk=driver_of(second)).update(hours={"1": [["08:00", "09:00"]]})
    registry.Premises.objects.update(open_hours={"1": [["10:00", "12:00"]]})
    changed = moved(office, first, tester_id=driver_of(first))
    assert are_together(office)
    assert len(changed.broken) == 1
    assert "Tuesday: the day is longer than the tester’s hours." in changed.broken[0]


def test_with_nobody_else_at_work_that_day_it_is_not_moved(office: Office) -> None:
    first, second = planned(office)
    registry.Tester.objects.filter(pk=driver_of(second)).update(hours={"0": [["08:00", "16:30"]]})
    before = everything()
    with pytest.raises(ChangeRefusedError, match="nobody else of that company works"):
        moved(office, first, tester_id=driver_of(first))
    assert everything() == before


def test_the_second_persons_own_row_leads_to_the_visit_itself(office: Office) -> None:
    _first, second = planned(office)
    with pytest.raises(ChangeRefusedError, match="change the visit itself"):
        moved(office, second, tester_id=driver_of(second))


def test_planned_anew_a_pair_stays_with_both_people_where_it_was_moved(office: Office) -> None:
    first, second = planned(office)
    moved(office, first, tester_id=driver_of(second))
    now, beside = both()
    was = (now.arrives_at, driver_of(now), driver_of(beside))
    for minutes in ("0", "10"):
        office.plan("--stay", minutes)
        now, beside = both()
        assert (now.arrives_at, driver_of(now), driver_of(beside)) == was
        assert are_together(office)
    office.plan()  # anew, as if nothing stood anywhere
    again, _beside = both()
    assert local_day(again, office) == MONDAY


def promised(office: Office, site: registry.Premises) -> tuple[Stop, Stop]:
    slots, _planned = slots_for(changer(office), site)
    best = slots[0]
    assert best.second is not None
    changed = promise_slot(
        changer(office), site, tester_id=int(best.day.tester), on=best.day.day, arrive=best.arrive
    )
    assert changed.broken == ()
    return both()


def test_one_more_visit_of_two_people_is_promised_for_both_and_stays(office: Office) -> None:
    site = vault(office)
    first, second = promised(office, site)
    assert are_together(office)
    assert first.promised_at is not None
    assert second.promised_at is not None
    assert second.second_of_id == first.pk
    kept = (first.arrives_at, driver_of(first), driver_of(second))
    said = office.plan()
    assert said.json["feasible"] is True
    now, beside = both()
    assert (now.arrives_at, driver_of(now), driver_of(beside)) == kept
    assert Round.objects.filter(stops=beside).get().tester_id == driver_of(second)


def test_one_more_visit_of_two_people_is_taken_back_whole(office: Office) -> None:
    site = vault(office)
    slot = slots_for(changer(office), site)[0][0]
    changed = promise_slot(
        changer(office), site, tester_id=int(slot.day.tester), on=slot.day.day, arrive=slot.arrive
    )
    undo_change(changer(office), changed.row)
    assert not Stop.objects.filter(cancelled_at=None).exists()
