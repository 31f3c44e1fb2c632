"""A testing company is told what of its own lapses soon: on its rounds, at the form, on a page."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry import models as rows
from registry.domain.kinds import Role
from tests.reports.rounds.office import Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    """Two companies; the certificates of both end within the thirty days after 25 November."""
    office = Office()
    for certificate, firm in (("T-1", "Stillbrook Testing"), ("T-2", "Quill Backflow")):
        tester = office.tester(certificate, firm=firm)
        tester.certifications.update(valid_to=date(2026, 12, 10))
    return office


def client_of(role: Role, **where: object) -> Client:
    person = get_user_model().objects.create_user(role.value)
    rows.Membership.objects.create(user_id=person.pk, role=role, **where)
    client = Client()
    client.force_login(person)
    return client


def words_at(client: Client, path: str) -> str:
    page = client.get(path)
    assert page.status_code == 200
    text = re.sub(r"<[^>]+>", " ", page.content.decode().replace("&nbsp;", " "))
    return re.sub(r"\s+", " ", text)


def test_a_company_sees_its_own_and_no_other(office: Office) -> None:
    office.town(visits=2)
    office.plan()
    tester = rows.Tester.objects.get(certificate="T-1")
    client = client_of(Role.TESTER, firm=tester.firm, tester=tester)
    page = words_at(client, "/p/flats/testers/lapses/")
    assert "Certificate Tester T-1, T-1: holds until Dec 10" in page
    assert "T-2" not in page
    assert "A test done after the last day does not count" in page
    for path in ("/p/flats/rounds/", "/p/flats/enter/"):
        assert "1 certificate or gauge of your company lapse" in words_at(client, path), path


def test_the_office_sees_every_company(office: Office) -> None:
    client = client_of(Role.ADMINISTRATOR, program=office.program)
    page = words_at(client, "/p/flats/testers/lapses/")
    assert "T-1" in page
    assert "T-2" in page
