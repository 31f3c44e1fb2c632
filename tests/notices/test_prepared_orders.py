"""The list of orders that wait for a signature: the gravest first, each with its premises."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client

from notices.actions.day import run_day
from notices.models import Letter
from notices.queries.prepared_orders import prepared_orders
from registry.models import Program
from scheduling.models import AssemblyState
from tests.notices.offices import START, assembly, office, owner, premises
from tests.notices.shutoff_cases import NOW, person

pytestmark = pytest.mark.django_db


@pytest.fixture
def program() -> Program:
    """Three premises at the end of their ladder: low hazard oldest, then two of high hazard."""
    made = office(state="WA")
    cases = (
        (1, "low", date(2022, 5, 1)),
        (2, "high", date(2024, 5, 1)),
        (3, "high", date(2023, 5, 1)),
    )
    for number, hazard, passed in cases:
        home = premises(made, number, of=owner(made, name=f"Owner {number}"))
        facts = (("passed", passed),)
        assembly(home, serial=f"S{number}", hazard=hazard, type="RP", facts=facts)
    for offset in range(0, 70, 7):
        run_day(program=made, as_of=START + timedelta(days=offset), now=NOW)
    return made


def test_high_hazard_comes_before_what_is_longer_overdue(program: Program) -> None:
    found = prepared_orders(program, most=50)
    assert [one.about for one in found] == ["RP S3", "RP S2", "RP S1"]
    assert [one.hazard for one in found] == ["high", "high", "low"]
    dues = [one.due_on for one in found]
    assert dues[0] is not None
    assert dues[1] is not None
    assert dues[0] < dues[1]
    states = {one.assembly_id: one.due_on for one in AssemblyState.objects.all()}
    assert [states[one.first_pk] for one in found if one.first_pk] == dues


def test_the_page_names_premises_and_owner_and_the_order_of_the_list(program: Program) -> None:
    client = Client()
    client.force_login(person(program))
    text = " ".join(client.get(f"/p/{program.code}/orders/").content.decode().split())
    assert "3 orders; failed on high hazard first, then high hazard" in text
    for one in prepared_orders(program, most=50):
        assert one.premises
        assert one.premises in text
        assert f"/assemblies/{one.first_pk}/#stands" in text
    assert text.index("RP S3") < text.index("RP S2") < text.index("RP S1")


def test_a_letter_is_called_by_its_title_and_found_by_the_name_on_it(program: Program) -> None:
    client = Client()
    client.force_login(person(program))
    page = client.get(f"/p/{program.code}/letters/?q=Owner+2").content.decode()
    assert "Order to shut off water" in page
    assert "Owner 2" in page
    assert "Owner 3" not in page
    Letter.objects.filter(program=program, address_lines__0="Owner 3").update(recipient=None)
    page = client.get(f"/p/{program.code}/letters/?q=Owner+3").content.decode()
    assert "Owner 3" in page
