"""Forms work by post alone, keep a change row, refuse with the field and the mend, and replay."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client

from registry import models
from registry.models import Assembly, Change, HazardAssessment, Party, Premises, Question
from scheduling.models import AssemblyState, Fact
from tests.access.addresses import address
from tests.access.cast import TODAY, Office, made_cast
from tests.access.test_matrix import BACKEND


@pytest.fixture
def office(db: None, client: Client) -> Office:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    return cast.home


ASSEMBLY = {
    "serial": "C200",
    "maker": "Ironbridge",
    "type": "RP",
    "size": "1 1/2",
    "protects": "containment",
    "hazard": "high",
    "installed_on": "2026-11-20",
}


def test_a_new_premises_is_kept_with_who_and_when(client: Client, office: Office) -> None:
    told = {"address": "8 Slough Rd", "city": "Tamarack Flats", "open_hours": "mon 8:00-12:00"}
    client.post(address("part-new-premises", office), told)
    site = Premises.objects.get(address="8 Slough Rd")
    assert site.program == office.program
    assert site.open_hours == {"0": [["08:00", "12:00"]]}
    change = Change.objects.get(what="premises", subject_id=site.pk)
    assert (change.by, change.before, change.after["address"]) == (
        "administrator",
        {},
        "8 Slough Rd",
    )


def test_a_second_premises_of_one_account_and_address_is_refused(
    client: Client, office: Office
) -> None:
    told = {"account": "1-1", "address": "77 Weir Lane", "city": "Tamarack Flats"}
    page = client.post(address("part-new-premises", office), told)
    assert page.status_code == 200
    assert b"Another premises has this account and address" in page.content
    assert Premises.objects.filter(program=office.program).count() == 1


def test_a_new_assembly_owes_its_first_test_at_once(client: Client, office: Office) -> None:
    told = {**ASSEMBLY, "connection": office.ids["connection"]}
    client.post(address("assembly-new", office), told)
    made = Assembly.objects.get(serial="C200")
    # plain-rolling, rule 1: first test within 10 days of installation
    assert AssemblyState.objects.get(assembly=made).due_on == date(2026, 11, 30)
    assert str(made.size_in.normalize()) == "1.5"


def test_a_changed_hazard_is_a_dated_finding_and_moves_the_cycle(
    client: Client, office: Office
) -> None:
    pk = office.ids["assembly"]
    told = {
        **ASSEMBLY,
        "serial": "A100",
        "maker": "Northfork",
        "hazard": "low",
        "connection": office.ids["connection"],
        "reason": "survey",
    }
    client.post(address("assembly-change", office), told)
    finding = HazardAssessment.objects.get(assembly=pk)
    assert (finding.hazard, finding.assessed_on, finding.finding) == ("low", TODAY, "survey")
    assert Change.objects.filter(what="assembly", subject_id=pk, reason="survey").exists()


def test_a_fact_recorded_moves_the_due_date_and_withdrawn_moves_it_back(
    client: Client, office: Office
) -> None:
    state = AssemblyState.objects.get(assembly=office.ids["assembly"])
    before = state.due_on
    told = {"kind": "passed", "on": "2026-11-24", "words": "", "reason": "by telephone"}
    client.post(address("fact-new", office), told)
    state.refresh_from_db()
    # plain-rolling, rule 4: an RP on high hazard is due six months after the last pass
    assert state.due_on == date(2027, 5, 24)
    fact = Fact.objects.get(assembly=office.ids["assembly"], on=date(2026, 11, 24))
    where = address("fact-withdraw", office).replace(str(office.ids["fact"]), str(fact.pk))
    client.post(where, {"reason": "another assembly"})
    state.refresh_from_db()
    fact.refresh_from_db()
    assert state.due_on == before
    assert fact.withdrawn_reason == "another assembly"


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"kind": "passed", "on": "2027-01-01"}, "That day has not come yet"),
        ({"kind": "extended", "on": "2026-11-01"}, "has no end: give its last day"),
        ({"kind": "extended", "on": "2026-11-01", "until": "2026-12-01"}, "Name who approved it"),
        ({"kind": "idled", "on": "2026-11-01", "reason": "shut off"}, "has no review day"),
        ({"kind": "untestable", "on": "2026-11-01"}, "Say what stood in the way"),
        ({"kind": "repaired", "on": "2026-11-01", "until": "2026-12-01"}, "Only a decision has"),
        ({"kind": "passed", "on": "1999-01-01"}, "lies before the installation"),
        ({"kind": "passed", "on": "31/31/2026"}, "This is no date"),
        ({"kind": "passed", "on": "1850-01-01"}, "lies outside 1900 to 2200"),
    ],
)
def test_a_fact_that_cannot_be_is_refused_with_its_mend(
    client: Client, office: Office, told: dict[str, str], said: str
) -> None:
    count = Fact.objects.count()
    page = client.post(address("fact-new", office), told).content.decode()
    assert said in page
    assert Fact.objects.count() == count


def test_a_new_owner_ends_the_former_and_restarts_the_lawful_part(
    client: Client, office: Office
) -> None:
    told = {"role": "owner", "since_on": "2026-11-20", "new-name": "Orchard Rd Trust",
            "new-language": "en", "new-address": "19 Orchard Rd"}  # fmt: skip
    client.post(address("part-party-name", office), told)
    roles = Premises.objects.get(pk=office.ids["premises"]).roles.order_by("pk")
    assert [(str(one.party), one.until_on) for one in roles] == [
        ("Larch Court", date(2026, 11, 20)),
        ("Orchard Rd Trust", None),
    ]
    owed = Assembly.objects.get(pk=office.ids["assembly"]).obligations.get(closed_on=None)
    assert owed.lawful_since == date(2026, 11, 20)


def test_a_party_of_the_same_name_and_address_is_not_made_twice(
    client: Client, office: Office
) -> None:
    told = {"role": "manager", "since_on": "2026-11-20", "new-name": "LARCH COURT",
            "new-language": "en", "new-address": "1 Landing Way", "new-zip": "99171",
            "new-city": "Tamarack Flats", "new-state": "WA"}  # fmt: skip
    page = client.post(address("part-party-name", office), told)
    assert b"is on record already" in page.content
    assert Party.objects.filter(program=office.program).count() == 1


def test_a_tester_is_kept_with_a_term_and_approved(client: Client, office: Office) -> None:
    told = {"firm": "Stillbrook Testing", "certificate": "T-9", "name": "R. Odom",
            "valid_from": "2026-01-01", "valid_to": "2027-01-01"}  # fmt: skip
    client.post(address("tester-new", office), told)
    made = models.Tester.objects.get(certificate="T-9")
    assert made.approvals.filter(program=office.program).exists()
    assert made.certifications.get().valid_to == date(2027, 1, 1)


def test_a_question_is_settled_once(client: Client, office: Office) -> None:
    where = address("questions-settle", office)
    client.post(where, {"answer": "gone"})
    client.post(where, {"answer": "still there"})
    assert Question.objects.get(pk=office.ids["question"]).answer == "gone"


@pytest.mark.parametrize("hostile", ["<script>alert(1)</script>", "A\x00B", "=1+1", "ž" * 4000])
def test_hostile_words_are_refused_or_shown_as_they_are(
    client: Client, office: Office, hostile: str
) -> None:
    for name in ("registry", "letters", "field-tests"):
        page = client.get(address(name, office), {"q": hostile, "rung": hostile, "page": hostile})
        assert page.status_code == 200
        assert b"<script>alert" not in page.content
    told = {"address": hostile, "name": hostile, "account": hostile}
    page = client.post(address("part-new-premises", office), told, follow=True)
    assert page.status_code == 200
    assert b"<script>alert" not in page.content


def test_the_file_to_mend_is_safe_for_a_spreadsheet(client: Client, office: Office) -> None:
    text = client.get(address("load-to-mend", office)).content.decode("utf-8-sig")
    assert text.splitlines()[0] == "Serial,why"
    assert text.splitlines()[1].startswith("'=1+1,")


def test_a_decision_about_a_report_is_kept_and_moves_nothing(
    client: Client, office: Office
) -> None:
    before = AssemblyState.objects.get(assembly=office.ids["assembly"]).due_on
    page = client.get(address("field-test", office)).content.decode()
    assert "What was decided" in page
    client.post(address("field-test-settle", office), {"decision": "the gauge was mended"})
    page = client.get(address("field-test", office)).content.decode()
    assert "the gauge was mended" in page
    assert "What was decided" not in page
    assert AssemblyState.objects.get(assembly=office.ids["assembly"]).due_on == before
