"""Places in a tester's van: stated by the office, kept by plans, slots and the check of a day.

Off unless a program says from which size on parts are brought along and how many a van holds.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry import models as rows
from registry.domain.kinds import Role
from registry.models import Membership, Premises
from reports.models import PlanningRules, Round, Stop
from reports.rounds.changing import move_stop, promise_slot, slots_for
from reports.rounds.why_not import why_no_slot
from tests.reports.rounds.office import MONDAY, NOON, Office, stops_of
from tests.reports.rounds.test_changing import TUESDAY, changer
from tests.reports.rounds.test_only_ones_own import accepted
from tests.reports.rounds.walking import words_of

pytestmark = pytest.mark.django_db

BASE = "/p/flats/rounds/"


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25", van_places=2)
    return office


def parts_from(office: Office, inches: str | None) -> None:
    size = None if inches is None else Decimal(inches)
    PlanningRules.objects.update_or_create(
        program=office.program, defaults={"parts_from_in": size, "changed_at": NOON, "by": "x"}
    )


def site(office: Office, *sizes: str, name: str) -> Premises:
    made = office.premises(lat=46.82, lon=-118.25, name=name)
    for size in sizes:
        office.due(made, assembly={"size_in": Decimal(size)})
    return made


def places_taken() -> list[int]:
    """Assemblies of three inches and more on each tester's day."""
    rounds = Round.objects.order_by("on")
    works = [
        [work for stop in one.stops.filter(cancelled_at=None) for work in stop.work.all()]
        for one in rounds
    ]
    return [sum(work.assembly.size_in >= 3 for work in day) for day in works if day]


def on(stop: Stop) -> date:
    return stop.arrives_at.astimezone(ZoneInfo("America/Los_Angeles")).date()


def test_a_plan_brings_no_more_parts_than_the_van_holds(office: Office) -> None:
    parts_from(office, "3")
    for number in range(5):
        site(office, "4", "0.75", name=f"Mill {number}")
    said = office.plan(days=2)
    assert places_taken() == [2, 2]
    (left,) = said.json["unplanned"]
    assert left["reason"].startswith("no room in the van: a tester has hours left")
    assert left["helps"] == "Tester T-1 with one place more in the van on Monday, November 30"


def test_exactly_the_size_counts_and_a_hair_less_does_not(office: Office) -> None:
    parts_from(office, "3")
    site(office, "3", "3", "2.999", name="Mill")
    assert office.plan(days=1).json["planned"] == 1
    site(office, "3", "3", "3", name="Works")
    (left,) = office.plan(days=1).json["unplanned"]
    assert left["reason"].startswith("no room in the van: its parts take 3 places")


@pytest.mark.parametrize(("inches", "places"), [(None, 2), ("3", None)])
def test_nothing_is_counted_unless_both_are_stated(
    office: Office, inches: str | None, places: int | None
) -> None:
    parts_from(office, inches)
    rows.Tester.objects.update(van_places=places)
    for number in range(4):
        site(office, "4", name=f"Mill {number}")
    assert len(stops_of(office.plan(days=1))) == 4


def test_a_caller_is_offered_days_on_which_the_van_has_room(office: Office) -> None:
    parts_from(office, "3")
    site(office, "4", "4", name="Mill")
    office.plan(days=1)
    new = site(office, "6", name="Works")
    slots, _planned = slots_for(changer(office), new)
    assert MONDAY not in {slot.day.day for slot in slots}
    assert len(slots) == 4
    none, planned = slots_for(changer(office, days=1), new)
    assert none == []
    assert why_no_slot(planned, new).startswith("No room in the van: a tester has hours left")


def test_a_move_by_hand_onto_a_full_van_says_what_it_breaks(office: Office) -> None:
    parts_from(office, "3")
    for number in range(3):
        site(office, "4", name=f"Mill {number}")
    office.plan(days=2)
    stop = next(one for one in Stop.objects.all() if on(one) == TUESDAY)
    moved = move_stop(
        changer(office, days=2), stop, tester_id=rows.Tester.objects.get().pk, on=MONDAY,
        place=1, seen=stop.revision,
    )  # fmt: skip
    assert moved.broken == (
        "Tester T-1, Monday: the parts for these visits need more room than the van has.",
    )


def test_a_smaller_van_moves_what_nobody_was_promised(office: Office) -> None:
    parts_from(office, "3")
    rows.Tester.objects.update(van_places=3)
    for number in range(3):
        site(office, "4", name=f"Mill {number}")
    office.plan(days=2)
    assert places_taken() == [3]
    promised = Stop.objects.order_by("arrives_at")[1]
    promised.promised_at, promised.promised_by = NOON, "Dana"
    promised.save()
    rows.Tester.objects.update(van_places=1)
    office.plan("--stay", "10", days=2)
    kept = Stop.objects.get(pk=promised.pk)
    assert kept.arrives_at == promised.arrives_at
    assert places_taken() == [1, 1]


def test_what_another_program_brings_is_in_the_same_van(office: Office) -> None:
    mesa = Office(code="mesa")
    accepted(mesa, rows.Tester.objects.get())
    for one in (office, mesa):
        parts_from(one, "3")
    site(mesa, "4", "4", name="Teasel Mill")
    mesa.plan(days=1)
    site(office, "4", name="Mill")
    (left,) = office.plan(days=1).json["unplanned"]
    assert left["reason"].startswith("no room in the van")
    assert "Teasel" not in left["helps"]
    parts_from(mesa, "6")
    assert office.plan(days=1).json["planned"] == 1


def test_a_promise_for_a_full_van_is_not_taken(office: Office) -> None:
    parts_from(office, "3")
    new = site(office, "4", name="Works")
    slots, _planned = slots_for(changer(office), new)
    first = slots[0]
    made = promise_slot(
        changer(office), new, tester_id=int(first.day.tester), on=first.day.day,
        arrive=first.arrive,
    )  # fmt: skip
    assert made.broken == ()


@pytest.fixture
def client(office: Office) -> Client:
    user = get_user_model().objects.create_user("maren")
    Membership.objects.create(user_id=user.pk, role=Role.ADMINISTRATOR, program=office.program)
    client = Client()
    client.force_login(user)
    return client


def test_size_and_places_are_kept_by_their_pages(office: Office, client: Client) -> None:
    tester = rows.Tester.objects.get()
    client.post(f"{BASE}rules/", {"due_is_assigned": "yes", "parts_from_in": "2.5"})
    assert PlanningRules.objects.get().parts_from_in == Decimal("2.5")
    client.post(f"{BASE}testers/{tester.pk}/", {"van_places": "0"})
    tester.refresh_from_db()
    assert tester.van_places == 0
    assert "places in the van 0" in words_of(client.get(f"{BASE}testers/"))
    site(office, "4", name="Mill")
    assert office.plan(days=1).json["planned"] == 0
    client.post(f"{BASE}testers/{tester.pk}/", {"van_places": ""})
    client.post(f"{BASE}rules/", {"due_is_assigned": "yes", "parts_from_in": ""})
    assert PlanningRules.objects.get().parts_from_in is None
    assert office.plan(days=1).json["planned"] == 1


def test_the_days_page_says_how_full_the_van_is(office: Office, client: Client) -> None:
    parts_from(office, "3")
    site(office, "4", name="Mill")
    office.plan(days=1)
    page = words_of(client.get(f"{BASE}{Round.objects.get().pk}/"))
    assert "parts take 1 of 2 places in the van" in page
    parts_from(office, None)
    assert "in the van" not in words_of(client.get(f"{BASE}{Round.objects.get().pk}/"))
