"""An owner reaches the certificates of the letter's premises, and of no others."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client

from registry.models import Premises, PremisesParty
from reports.models import Certificate
from tests.access.cast import Cast, made_cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return made_cast()


def address(cast: Cast, rest: str = "") -> str:
    return f"/o/{cast.home.token}/tests/{rest}"


def test_the_letter_s_page_leads_to_the_tests(cast: Cast, client: Client) -> None:
    page = client.get(f"/o/{cast.home.token}").content.decode()
    assert f'href="{address(cast)}?lang=en"' in page


def test_tests_that_count_are_listed_with_their_certificates(cast: Cast, client: Client) -> None:
    page = client.get(address(cast)).content.decode()
    assert "March\xa04, 2024, RP A100, Weir Lane Dental" in page
    assert address(cast, f"{cast.home.ids['certificate']}.pdf") in page
    assert page.count("<li>") == 1  # the one that does not count is not there


def test_looking_makes_nothing_and_asking_makes_it_once(cast: Cast, client: Client) -> None:
    asked = {"test": cast.home.ids["counted"]}
    client.get(address(cast, "?lang=es"))
    assert Certificate.objects.filter(language="es").count() == 0
    for _ in range(2):
        answer = client.post(address(cast, "?lang=es"), asked)
        assert answer.status_code == 303
        pdf = client.get(answer["Location"])
        assert pdf["Content-Type"] == "application/pdf"
        assert pdf.content.startswith(b"%PDF")
        assert "no-store" in pdf["Cache-Control"]
    assert Certificate.objects.filter(language="es").count() == 1
    assert Certificate.objects.get(language="es").made_by == "owner's page"


def test_tests_of_another_program_are_not_there(cast: Cast, client: Client) -> None:
    theirs = cast.other.ids
    assert client.post(address(cast), {"test": theirs["counted"]}).status_code == 404
    assert client.get(address(cast, f"{theirs['certificate']}.pdf")).status_code == 404


def test_who_is_no_longer_bound_sees_nothing(cast: Cast, client: Client) -> None:
    site = Premises.objects.get(pk=cast.home.ids["premises"])
    PremisesParty.objects.filter(premises=site).update(until_on=date(2026, 1, 1))
    page = client.get(address(cast)).content.decode()
    assert "No test that counts is on record here." in page
    pdf = client.get(address(cast, f"{cast.home.ids['certificate']}.pdf"))
    assert pdf.status_code == 404


def test_a_wrong_link_opens_nothing(cast: Cast, client: Client) -> None:
    assert client.get("/o/AAAAAAAAAAAAAAAAAAAAAA/tests/").status_code == 404


def test_the_form_is_guarded(cast: Cast) -> None:
    guarded = Client(enforce_csrf_checks=True)
    answer = guarded.post(address(cast), {"test": cast.home.ids["counted"]})
    assert answer.status_code == 403
