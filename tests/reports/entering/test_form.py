"""The form as an ordinary page: who sees it, what it asks, how it refuses, where it lands."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from registry.models import Assembly, Question
from reports.models import FieldEntry, FieldTest
from scheduling.domain.facts import FactKind
from tests.access.cast import Cast
from tests.reports.entering.conftest import GOOD, client_for

HOME = "/p/flats/enter/"


def form_of(cast: Cast) -> str:
    return f"{HOME}{cast.home.ids['assembly']}/"


def post(client: Client, where: str, **said: str) -> tuple[int, str]:
    page = client.get(where).content.decode()
    found = re.search(r'name="client_id" value="([^"]+)"', page)
    assert found
    answer = client.post(where, {**GOOD, "client_id": found[1], **said}, follow=True)
    return answer.status_code, answer.content.decode()


def test_the_readings_stand_in_the_order_of_the_method(cast: Cast, tester: Client) -> None:
    # USC manual, 10th edition: relief valve, check 2, check 1 (order from memory).
    page = tester.get(form_of(cast)).content.decode()
    labels = re.findall(r'data-reading="(\w+)" data-part="initial"', page)
    assert labels == ["relief", "check2_tight", "check1"]


def test_a_report_passes_counts_and_becomes_a_fact(cast: Cast, tester: Client) -> None:
    status, page = post(tester, form_of(cast))
    assert status == 200
    assert "Passes, and counts" in page
    entry = FieldEntry.objects.get(channel="page")
    test = entry.field_test
    assert test is not None
    assert (test.outcome, test.counts, test.initial["relief"]) == ("pass", True, "2.4")
    assert test.fact is not None
    assert test.fact.kind == FactKind.PASSED
    assert test.cells["Line pressure"] == "62"
    assert entry.attestation.startswith("I tested this assembly myself")


def test_pressed_twice_it_lands_once(cast: Cast, tester: Client) -> None:
    where = form_of(cast)
    found = re.search(r'client_id" value="([^"]+)"', tester.get(where).content.decode())
    assert found
    for _ in range(2):
        tester.post(where, {**GOOD, "client_id": found[1]})
    assert FieldEntry.objects.filter(channel="page").count() == 1
    assert FieldTest.objects.filter(serial="A100", initial__relief="2.4").count() == 1


@pytest.mark.parametrize(
    ("field", "said", "mend"),
    [
        ("cautions_read", "", "Read the cautions of this site"),
        ("serial", "", "Write the serial on the assembly’s tag."),
        ("tested_on", "", "Write the day of the test."),
        ("certificate", "", "Write the number of the tester’s certificate."),
        ("gauge_serial", "", "Write the serial of the gauge"),
        ("shutoff2_tight", "", "Say whether shutoff valve 2 holds"),
        ("supply_on", "", "Say whether the water is back on."),
        ("signed_name", "", "Type your full name"),
        ("attested", "", "Read what you sign"),
        ("initial_relief", "2,1o", "is no figure; write the figure the gauge showed"),
        ("initial_check1", "-1", "a reading is never negative"),
        ("unit", "bar", "is none of: psid, kPa"),
    ],
)
def test_every_refusal_names_its_mend_and_keeps_what_was_written(
    cast: Cast, tester: Client, field: str, said: str, mend: str
) -> None:
    status, page = post(tester, form_of(cast), **{field: said})
    assert status == 422
    assert mend in page
    assert 'value="7.4"' in page or field == "initial_check1"
    assert not FieldEntry.objects.filter(channel="page").exists()


@pytest.mark.parametrize(
    ("said", "mend"),
    [
        ({"shutoff2_tight": "no flow"}, "Say how no flow was shown"),
        ({"installed": "replacement"}, "Write the serial of the one it replaces"),
        ({"proper": "no"}, "Say what is wrong"),
    ],
)
def test_an_answer_that_asks_for_more_says_so(
    cast: Cast, tester: Client, said: dict[str, str], mend: str
) -> None:
    status, page = post(tester, form_of(cast), **said)
    assert status == 422
    assert mend in page


def test_no_flow_shown_lets_the_readings_count(cast: Cast, tester: Client) -> None:
    post(tester, form_of(cast), shutoff2_tight="no flow", no_flow_how="compensating hose")
    test = FieldTest.objects.get(initial__shutoff2_tight="no flow")
    assert (test.outcome, test.cells["No flow shown by"]) == ("pass", "compensating hose")


# EPA 816-R-03-002, ch. 5: SOV2 must hold, or no flow be shown, before readings count.
def test_a_leaking_second_valve_leaves_the_test_incomplete(cast: Cast, tester: Client) -> None:
    post(tester, form_of(cast), shutoff2_tight="no")
    test = FieldTest.objects.get(initial__shutoff2_tight="no")
    assert (test.outcome, test.waits_for_person) == ("incomplete", True)


def test_an_approved_tester_nobody_assigned_reports_by_serial_and_address(
    cast: Cast, unassigned: Client
) -> None:
    assert unassigned.get(form_of(cast)).status_code == 404
    index = unassigned.get(HOME).content.decode()
    assert "A100" not in index
    assert "Weir Lane" not in index
    status, page = post(unassigned, f"{HOME}type/RP/", address="")
    assert status == 422
    assert "Write the address where the assembly stands." in page
    status, page = post(
        unassigned, f"{HOME}type/RP/", serial="Z-77", address="9 Sluice Rd", certificate="T-9"
    )
    assert status == 200
    assert "Not in the registry" in page
    test = FieldTest.objects.get(serial="Z-77")
    assert test.waits_for_person
    assert test.cells["Service address"] == "9 Sluice Rd"


def test_a_clerk_keys_for_anybody_and_others_do_not(cast: Cast, clerk: Client) -> None:
    assert clerk.get(form_of(cast)).status_code == 200
    status, _ = post(clerk, form_of(cast))
    assert status == 200
    for who in ("auditor", "dispatcher", "property manager"):
        assert client_for(cast, who).get(HOME).status_code == 403


def test_a_type_without_a_field_test_has_no_form(tester: Client) -> None:
    for kind in ("AVB", "AG", "XX"):
        assert tester.get(f"{HOME}type/{kind}/").status_code == 404


def test_a_detector_is_asked_for_its_bypass_and_its_meter(tester: Client) -> None:
    page = tester.get(f"{HOME}type/RPDA-II/").content.decode()
    assert 'data-reading="bypass_check1"' in page
    assert 'data-reading="bypass_relief"' not in page
    assert 'name="meter_moved"' in page
    assert "Reading of the detector meter" in page


def test_did_not_open_is_an_answer_of_its_own(cast: Cast, tester: Client) -> None:
    post(tester, form_of(cast), initial_relief="", initial_relief_other="did not open")
    test = FieldTest.objects.get(initial__relief="did not open")
    assert test.outcome == "fail"


def test_a_repair_without_a_final_test_stays_incomplete(cast: Cast, tester: Client) -> None:
    post(tester, form_of(cast), initial_relief="1.8", repairs="New diaphragm.")
    test = FieldTest.objects.get(initial__relief="1.8")
    assert (test.as_found, test.outcome) == ("fail", "incomplete")


def test_a_repair_with_a_final_test_passes(cast: Cast, tester: Client) -> None:
    after = {"final_relief": "2.6", "final_check2_tight": "yes", "final_check1": "8.0"}
    post(tester, form_of(cast), initial_relief="1.8", repairs="New diaphragm.", **after)
    test = FieldTest.objects.get(initial__relief="1.8")
    assert (test.as_found, test.outcome, test.counts) == ("fail", "pass", True)


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ({"relief_running": "yes"}, "danger: relief valve running"),
        ({"not_tested": "bypassed"}, "danger: bypassed"),
        ({"not_tested": "replaced by pipe"}, "danger: replaced by pipe"),
        ({"not_tested": "no access"}, "could not be tested"),
        ({"installed": "replacement", "old_serial": "A099"}, "replacement"),
    ],
)
def test_what_a_visit_finds_goes_to_a_person(
    cast: Cast, tester: Client, said: dict[str, str], kind: str
) -> None:
    post(tester, form_of(cast), **said)
    assert Question.objects.filter(kind=kind, assembly_id=cast.home.ids["assembly"]).count() == 1


# USC Foundation "Cross Talk", 2001: DC CV1 below 1.0 with SOV1 leaking asks for repair first.
def test_a_leaking_first_valve_beside_a_low_check_says_repair_first(
    cast: Cast, tester: Client
) -> None:
    Assembly.objects.filter(pk=cast.home.ids["assembly"]).update(type="DC")
    post(tester, form_of(cast), shutoff1_tight="no", initial_check1="0.8", initial_check2="1.4")
    test = FieldTest.objects.get(initial__check1="0.8")
    assert any("repair the valve first" in one for one in test.warnings)


def test_the_last_three_readings_stand_beside_the_field(cast: Cast, tester: Client) -> None:
    page = tester.get(form_of(cast)).content.decode()
    assert re.search(r"<dt>Nov 26</dt><dd>1.7</dd>", page)
