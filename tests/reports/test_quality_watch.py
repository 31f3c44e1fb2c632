"""The page of the quality watch: evidence linked, words neutral, nothing moved."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, time
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from registry.domain.kinds import Role
from registry.models import Assembly, Membership, Premises, Program, ServiceConnection
from reports.domain.readings import ReadingName
from reports.domain.watch import Watch
from reports.models import FieldTest
from reports.queries.watch import watched
from scheduling.models import Fact
from tests.reports.conftest import MORNING
from tests.reports.grown import TODAY, field_test, grown_program, stored

pytestmark = pytest.mark.django_db
READINGS = {ReadingName.RELIEF: Decimal("2.6"), ReadingName.CHECK1: Decimal("7.0")}


@pytest.fixture
def office(program: Program, client: Client) -> Client:
    person = get_user_model().objects.create_user("ida", password=None)
    Membership.objects.create(user=person, role=Role.ADMINISTRATOR, program=program)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def far_apart(program: Program) -> list[FieldTest]:
    """Two tests by one tester, 44 km and five minutes apart."""
    return stored(_far_apart(program))


def _far_apart(program: Program) -> Iterator[FieldTest]:
    for place in range(2):
        site = Premises.objects.create(
            program=program,
            key=f"far{place}",
            address=f"{place} Far St",
            lat=Decimal("46.5") + Decimal("0.4") * place,
            lon=Decimal("-118.5"),
        )
        pipe = ServiceConnection.objects.create(premises=site)
        one = Assembly.objects.create(
            program=program,
            premises=site,
            connection=pipe,
            type="RP",
            serial=f"F{place}",
            serial_key=f"F{place}",
            size_in=Decimal(1),
            created_at=MORNING,
        )
        yield field_test(
            one, on=date(2026, 5, 4), initial=dict(READINGS), tested_at=time(9, 5 * place)
        )


def test_the_reports_behind_a_line_are_linked(program: Program, office: Client) -> None:
    tests = far_apart(program)
    page = office.get("/p/flats/field-tests/quality-watch/").content.decode()
    assert "5 minutes apart, and 44 km, which take 24 minutes at 110 km/h" in page
    for test in tests:
        assert f"/p/flats/field-tests/{test.pk}/" in page
    assert "None says that anybody did wrong" in page


def test_looking_moves_nothing(program: Program, office: Client) -> None:
    far_apart(program)
    before = list(FieldTest.objects.values())
    office.get("/p/flats/field-tests/quality-watch/")
    assert list(FieldTest.objects.values()) == before


def test_with_nothing_that_stands_out_it_says_so(program: Program, office: Client) -> None:
    page = office.get("/p/flats/field-tests/quality-watch/").content.decode()
    assert "nothing stands out" in page
    assert page.count("Nothing stands out.") == len(Watch)


def test_a_repair_among_the_facts_explains_a_rise(program: Program) -> None:
    made = grown_program(program, count=40, town="soft water")
    one = made[0]
    up = {ReadingName.RELIEF: Decimal("2.6"), ReadingName.CHECK1: Decimal("29.0")}
    (test,) = stored([field_test(one, on=date(2026, 11, 20), initial=dict(up))])
    (told,) = [
        one
        for one in watched(program, today=TODAY).told[Watch.JUMPS]
        if test.pk in {report.pk for report in one.reports}
    ]
    assert "29.0" in told.words
    between = date(2026, 11, 10)  # the test before was on the first, this one is of the twentieth
    Fact.objects.create(
        program=program, assembly=one, kind="repaired", on=between, recorded_at=MORNING
    )
    later = watched(program, today=TODAY).told[Watch.JUMPS]
    assert all(test.pk not in {report.pk for report in one.reports} for one in later)


@pytest.mark.database
def test_the_watch_takes_two_queries_however_many_reports(program: Program) -> None:
    grown_program(program, count=40)
    with CaptureQueriesContext(connection) as taken:
        found = watched(program, today=TODAY)
    assert len(taken) == 2
    assert found.looked_at > 100


def test_every_tester_s_share_stands_beside_its_limits(program: Program, office: Client) -> None:
    grown_program(program, count=60)
    tests = FieldTest.objects.filter(assembly__serial__startswith="R")
    tests.filter(tested_on__year=2026).update(tester_certificate="T-2", tester_name="O. Marsh")
    page = office.get("/p/flats/field-tests/quality-watch/").content.decode()
    assert '<th scope="row">O. Marsh, T-2</th>' in page
    assert "99.8 % lie between" in page
