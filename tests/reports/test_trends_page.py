"""Trends on the page of an assembly: courses from stored tests, a chance only from enough peers."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from registry.domain.kinds import Role
from registry.models import Assembly, Membership, Program
from reports.domain.readings import ReadingName, Word
from reports.domain.risk import Chance, Unknown
from reports.queries.trends import chance_of_any, chances, histories, peers_of
from tests.reports.grown import TODAY, field_test, grown_program, stored

pytestmark = pytest.mark.django_db
RELIEF, CHECK1 = ReadingName.RELIEF, ReadingName.CHECK1


@pytest.fixture
def office(program: Program, client: Client) -> Client:
    person = get_user_model().objects.create_user("ida", password=None)
    Membership.objects.create(user=person, role=Role.ADMINISTRATOR, program=program)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def figures(relief: str, check1: str = "7.0") -> dict[ReadingName, Decimal]:
    return {RELIEF: Decimal(relief), CHECK1: Decimal(check1)}


def test_a_course_is_read_from_what_was_judged(program: Program) -> None:
    one = Assembly.objects.get(serial="K925771")
    tests = [
        field_test(one, on=date(2024, 5, 1), initial=dict(figures("2.6"))),
        field_test(
            one,
            on=date(2025, 5, 1),
            initial=dict(figures("1.5")),
            final={RELIEF: Decimal("2.4")},
        ),
        field_test(
            one,
            on=date(2026, 5, 1),
            initial={RELIEF: Word.DID_NOT_OPEN, CHECK1: Decimal("7.0")},
        ),
    ]
    relief = histories(tests)["relief"]
    assert [(seen.found, seen.left, seen.was_repaired) for seen in relief] == [
        (2.6, 2.6, False),
        (1.5, 2.4, True),
        (None, None, False),
    ]
    assert relief[-1].found_failing
    assert {seen.limit for seen in relief} == {2.0}
    assert "check1_above_relief" not in histories(tests)


def test_kilopascals_are_divided_by_the_one_factor(program: Program) -> None:
    one = Assembly.objects.get(serial="K925771")
    test = field_test(one, on=TODAY, initial=dict(figures("2.0")))
    test.unit = "kPa"
    test.verdict = {
        "initial": {
            "criteria": [
                {"name": "relief", "reading": "13.8", "limit": "13.789514", "met": True},
            ]
        }
    }
    (seen,) = histories([test])["relief"]
    # 13.8 / 6.894757 = 2.0015; the limit is 2.0 exactly (worked by hand).
    assert seen.found == pytest.approx(2.0015, abs=1e-4)
    assert seen.limit == 2.0


def test_what_does_not_count_is_no_point(program: Program) -> None:
    one = Assembly.objects.get(serial="K925771")
    assert histories([field_test(one, on=TODAY, initial=dict(figures("2.6")), counts=False)]) == {}


def test_with_enough_peers_the_page_tells_a_chance(program: Program, office: Client) -> None:
    made = grown_program(program, count=60)
    page = office.get(f"/p/flats/assemblies/{made[0].pk}/").content.decode()
    assert "tests of peers: RP, up to 1 in" in page
    assert "For planning only: a chance is no verdict" in page
    assert page.count('class="drawn"') >= 2


def test_without_peers_the_page_says_so_and_gives_no_number(
    program: Program, office: Client
) -> None:
    one = Assembly.objects.get(serial="K925771")
    stored([field_test(one, on=date(2026, 5, 1), initial=dict(figures("2.6")))])
    page = office.get(f"/p/flats/assemblies/{one.pk}/").content.decode()
    assert "Too little is known" in page
    assert "1 reading: a slope needs 4." in page
    assert "any of them falls below" not in page


def test_an_earlier_day_shows_the_course_and_no_chance(program: Program, office: Client) -> None:
    made = grown_program(program, count=60)
    page = office.get(f"/p/flats/assemblies/{made[0].pk}/?as_of=2026-01-01").content.decode()
    assert 'id="trends"' in page
    assert "tests of peers" not in page


def test_one_that_stands_failed_gets_no_chance(program: Program) -> None:
    one = Assembly.objects.get(serial="K925771")
    tests = stored([field_test(one, on=date(2026, 5, 1), initial=dict(figures("1.5")))])
    grown_program(program, count=60)
    told = chances(
        one,
        courses=histories(tests),
        peers=peers_of(program=program, type_="RP", by=TODAY),
        next_on=TODAY,
        installed_on=None,
    )
    assert isinstance(told["relief"], Unknown)
    assert "below its limit now" in told["relief"].why
    assert isinstance(told["check1"], Chance)
    assert chance_of_any(list(told.values())) is None


@pytest.mark.database
def test_peers_take_two_queries_however_many(program: Program) -> None:
    grown_program(program, count=30)
    with CaptureQueriesContext(
        connection,
    ) as taken:
        found = peers_of(program=program, type_="RP", by=TODAY)
    assert len(taken) == 2
    assert len(found.of("relief")) > 100
    assert found.of("air_inlet") == ()


def test_a_failing_reading_stands_beside_what_it_points_to(
    program: Program, office: Client
) -> None:
    # Tester-association article "How does the RP work", part 4: an RP that opens at 1.5.
    one = Assembly.objects.get(serial="K925771")
    (test,) = stored([field_test(one, on=date(2026, 5, 1), initial=dict(figures("1.5")))])
    for address in (f"/p/flats/assemblies/{one.pk}/", f"/p/flats/field-tests/{test.pk}/"):
        page = office.get(address).content.decode()
        assert "Points to a restricted stem or guide, scale or corrosion; rarely" in page
        assert "part 4 [read]" in page
        assert "licensed practice decide" in page
