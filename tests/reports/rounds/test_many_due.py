"""Assigning and calling in a large program: the database counts, sorts and cuts."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from registry.domain.assigned import HowAssigned
from registry.models import Assignment, Firm
from reports.domain.map_areas import area_in
from reports.models import CallMade
from reports.queries import assigning, jobs
from reports.queries.assigning import Area, assignable, assignable_pks
from reports.queries.jobs import call_list
from tests.reports.rounds.office import NOON, TODAY, Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1")
    return office


def scattered(office: Office, *, many: int) -> None:
    chance = random.Random(8)
    for _ in range(many):
        lat, lon = 46.80 + chance.random() / 10, -118.30 + chance.random() / 10
        office.due(office.premises(lat=lat, lon=lon))


def queries_of(what: object) -> int:
    with CaptureQueriesContext(
        connection,
    ) as asked:
        what()  # type: ignore[operator]
    return len(asked)


def test_the_database_and_the_drawing_count_the_same_squares(office: Office) -> None:
    scattered(office, many=60)
    found = assignable(office.program, area=Area(), today=TODAY)
    assert found.squares is not None
    named = Counter(found.squares.name_of(lat, lon) for lat, lon in found.places)
    assert found.counts == dict(sorted(named.items()))
    assert sum(named.values()) == found.total == 60
    for name, many in named.items():
        in_one = assignable(office.program, area=Area(squares=(name,)), today=TODAY)
        assert in_one.total == many
        assert {
            found.squares.name_of(float(row.premises.lat or 0), float(row.premises.lon or 0))
            for row in in_one.rows
        } == {name}


def test_one_place_only_and_places_on_a_line_have_squares_too(office: Office) -> None:
    office.due(office.premises(lat=46.8, lon=-118.2))
    found = assignable(office.program, area=Area(), today=TODAY)
    assert found.counts == {"A1": 1}
    office.due(office.premises(lat=46.9, lon=-118.2))
    found = assignable(office.program, area=Area(), today=TODAY)
    assert found.counts == {"A1": 1, "A4": 1}


def test_more_premises_ask_no_more_queries_and_only_rows_shown_are_read(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    scattered(office, many=3)

    def both() -> None:
        assignable(office.program, area=Area(), today=TODAY)
        call_list(office.program, today=TODAY)

    few = queries_of(both)
    scattered(office, many=40)
    assert queries_of(both) == few
    monkeypatch.setattr(assigning, "MOST", 5)
    monkeypatch.setattr(assigning, "MOST_DOTS", 10)
    found = assignable(office.program, area=Area(), today=TODAY)
    assert (len(found.rows), found.total, found.each) == (5, 43, 5)
    assert len(found.places) <= 10
    assert len(assignable_pks(office.program, area=Area(), today=TODAY)) == 43


def test_a_drawn_area_joins_what_is_named_and_leaves_out_what_is_taken(office: Office) -> None:
    sites = [office.premises(lat=46.80 + n / 100, address=f"{n} Aspen St") for n in range(4)]
    for site in sites:
        office.due(site)
    placeless = office.premises(lat=None, lon=None, address="9 Birch St")
    office.due(placeless)
    drawn = area_in("46.795,-118.3;46.815,-118.3;46.815,-118.1;46.795,-118.1")
    area = Area(drawn=drawn, streets=("birch",))
    assert assignable_pks(office.program, area=area, today=TODAY) == [
        sites[0].pk, sites[1].pk, placeless.pk,
    ]  # fmt: skip
    for how, site in ((HowAssigned.HAND, sites[0]), (HowAssigned.PLAN, sites[1])):
        Assignment.objects.create(
            program=office.program, firm=Firm.objects.get(), premises=site, made_on=TODAY, how=how
        )
    free = Area(drawn=drawn, streets=("birch",), only_free=True)
    found = assignable(office.program, area=free, today=TODAY)
    assert [row.premises.pk for row in found.rows] == [sites[1].pk, placeless.pk]
    assert (found.total, found.without_place) == (2, 1)


def test_the_failed_come_first_then_the_earliest_due_and_the_rest_is_counted(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    def due(on: date, **fields: object) -> int:
        return office.due(office.premises(), due_on=on, **fields).its_assembly.premises_id  # type: ignore[arg-type]

    late, soon = due(date(2026, 11, 10)), due(date(2026, 12, 1))
    failed = due(date(2026, 12, 20), failed_on=TODAY, cure_by=date(2026, 12, 10))
    last = due(date(2027, 1, 5))
    calls = call_list(office.program, today=TODAY)
    assert [one.premises.pk for one in calls.now] == [failed, late, soon, last]
    assert [one.standing for one in calls.now] == ["failed", "overdue", "due", "due"]
    monkeypatch.setattr(jobs, "MOST", 2)
    calls = call_list(office.program, today=TODAY)
    assert ([one.premises.pk for one in calls.now], calls.total) == ([failed, late], 4)


def test_only_the_newest_call_counts(office: Office) -> None:
    site = office.premises()
    office.due(site)

    def called(outcome: str, hours: int, **fields: object) -> None:
        CallMade.objects.create(
            program=office.program, premises=site, outcome=outcome, by="x",
            at=NOON + timedelta(hours=hours), **fields,
        )  # fmt: skip

    called(CallMade.NO, 1, for_due_on=date(2026, 12, 15))
    calls = call_list(office.program, today=TODAY)
    assert (calls.total, len(calls.said_no)) == (0, 1)
    called(CallMade.AGAIN, 2, again_on=TODAY + timedelta(days=3))
    calls = call_list(office.program, today=TODAY)
    assert (calls.total, len(calls.later), len(calls.said_no)) == (0, 1, 0)
    assert call_list(office.program, today=TODAY + timedelta(days=3)).total == 1
    called(CallMade.NO, 3, for_due_on=date(2026, 12, 14))
    assert call_list(office.program, today=TODAY).total == 1
