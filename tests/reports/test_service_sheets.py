"""Service sheets and what to bring: read back from the PDF, with every caution and no recipe."""

from __future__ import annotations

import io
import re
from datetime import date
from decimal import Decimal

import pypdf
import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry.domain.kinds import Role
from registry.models import Assembly, Firm, Membership, Premises, Program
from reports.domain.readings import ReadingName
from reports.models import Plan, Round, Stop, StopWork
from scheduling.models import AssemblyState
from tests.reports.conftest import MORNING
from tests.reports.grown import field_test, grown_program, stored

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(program: Program, client: Client) -> Client:
    person = get_user_model().objects.create_user("ida", password=None)
    Membership.objects.create(user=person, role=Role.ADMINISTRATOR, program=program)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def sheet_of(client: Client, serial: str = "K925771") -> str:
    pk = Assembly.objects.get(serial=serial).pk
    return text_of(client, f"/p/flats/assemblies/{pk}/service-sheet.pdf")


def failing(serial: str = "K925771") -> None:
    one = Assembly.objects.get(serial=serial)
    readings = {ReadingName.RELIEF: Decimal("1.5"), ReadingName.CHECK1: Decimal("7.0")}
    stored([field_test(one, on=date(2025, 5, 1), initial=dict(readings))])


def test_it_shows_limits_readings_before_causes_and_lines_to_write_on(office: Client) -> None:
    failing()
    text = sheet_of(office)
    for told in (
        "K925771, RP, ¾ in",
        "The relief valve's opening at least 2.0 psid 1.5 (2025)",
        "a restricted stem or guide, scale or corrosion; rarely the spring",
        "As found After repair",
        "Gauge serial",
        "Signature",
    ):
        assert told in text, told


def test_it_defers_to_the_maker_local_code_and_licensed_practice_in_so_many_words(
    office: Client,
) -> None:
    text = sheet_of(office)
    assert "The maker’s manual for this model decides the order of work, the torque" in text
    assert "local code and licensed practice decide who may do it" in text


def test_it_prints_no_torque_and_no_lubricant_of_its_own(office: Client) -> None:
    failing()
    text = sheet_of(office).casefold()
    assert text.count("torque") == text.count("lubricant") == 1  # both in what it defers
    assert not re.search(r"\d\s*(ft|in)[-·. ]?lbf?\b|newton|\bn·m\b|grease|silicone", text)


def test_every_caution_of_the_place_stands_on_it(office: Client, program: Program) -> None:
    Premises.objects.filter(program=program).update(
        has_combined_fire=True, has_tenants=True, has_medical_supply=True
    )
    Assembly.objects.filter(serial="K925771").update(in_vault=True)
    text = sheet_of(office)
    for told in (
        "Ask the owner before water is shut",
        "fire department, the alarm company and the insurer before and after",
        "main drain test",
        "29 CFR 1910.146",
        "Continuous medical supply",
        "relief valve may discharge much water",
        "electrical bonding",
        "heated water needs somewhere to expand",
        "Drained parts freeze",
        "scald",
        "Failed means below the minimum, not that water flowed back",
        "Test as found first",
        "not interchangeable",
    ):
        assert told in text, told


def test_a_type_without_a_test_says_so(office: Client) -> None:
    assert "has no field test" in sheet_of(office, "A700001")


def round_of(program: Program, assemblies: list[Assembly]) -> Round:
    firm = Firm.objects.get(key="stillbrook")
    tester = firm.testers.get(certificate="T-1000")
    plan = Plan.objects.create(program=program, from_on=date(2026, 11, 25), days=1, made_at=MORNING)
    one = Round.objects.create(
        plan=plan,
        firm=firm,
        tester=tester,
        on=date(2026, 11, 26),
        starts_at=MORNING,
        ends_at=MORNING,
        depot_lat=Decimal(46),
        depot_lon=Decimal(-118),
    )
    stop = Stop.objects.create(
        program=program,
        round=one,
        premises=assemblies[0].premises,
        uid="u-1",
        arrives_at=MORNING,
        leaves_at=MORNING,
        revised_at=MORNING,
    )
    for assembly in assemblies:
        StopWork.objects.create(stop=stop, assembly=assembly)
    return one


def test_a_round_has_what_to_bring_first_then_a_sheet_for_every_assembly(
    office: Client, program: Program
) -> None:
    made = grown_program(program, count=60)
    AssemblyState.objects.filter(assembly=made[0]).update(failed_on=date(2026, 11, 1))
    one = round_of(program, made[:5])
    text = text_of(office, f"/p/flats/rounds/{one.pk}/service-sheets.pdf?sure=95")
    assert "What to bring" in text
    assert "Enough in 95 of 100 such rounds" in text
    assert re.search(r"\b[1-5] Rubber kit RP, ¾ in; Northfork", text)
    for assembly in made[:5]:
        assert f"{assembly.serial}, RP" in text


def test_the_page_of_what_to_bring_counts_more_at_a_higher_confidence(
    office: Client, program: Program
) -> None:
    made = grown_program(program, count=60)
    one = round_of(program, made[:30])

    def kits(sure: int) -> int:
        page = office.get(f"/p/flats/rounds/{one.pk}/bring/?sure={sure}").content.decode()
        found = re.search(r'<td class="figure worked">(\d+)</td><th scope="row">Rubber kit', page)
        assert found is not None
        return int(found.group(1))

    assert kits(80) < kits(99)
    assert kits(12345) == kits(90)


def test_a_testing_company_gets_sheets_only_of_what_it_sees(
    program: Program, client: Client
) -> None:
    made = grown_program(program, count=3)
    person = get_user_model().objects.create_user("vell", password=None)
    Membership.objects.create(
        user=person, role=Role.TESTER, firm=Firm.objects.get(key="stillbrook")
    )
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    one = round_of(program, made)
    assert client.get(f"/p/flats/assemblies/{made[0].pk}/service-sheet.pdf").status_code == 404
    assert "R0000" not in text_of(client, f"/p/flats/rounds/{one.pk}/service-sheets.pdf")
