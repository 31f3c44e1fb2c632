"""What a program says of entering: the words signed under, and who keys a paper."""

from __future__ import annotations

from django.test import Client

from registry.models import Program
from reports.domain.entry_items import ITEMS
from reports.domain.entry_report import SIGNATURE
from reports.models import FieldEntry
from tests.access.cast import Cast
from tests.reports.entering.conftest import GOOD, client_for

WORDS = "I certify under penalty of law that I tested this assembly myself."


def settled(client: Client, **said: str) -> Program:
    told = {"name": "Flats", "zone": "UTC", "date_order": "month first", **said}
    assert client.post("/p/flats/settings/", told).status_code == 302
    return Program.objects.get(code="flats")


def test_the_words_signed_under_are_set_and_kept_word_for_word(cast: Cast) -> None:
    program = settled(client_for(cast, "administrator"), attestation=f"  {WORDS} ")
    assert program.letterhead["attestation"] == WORDS
    tester = client_for(cast, "tester")
    where = f"/p/flats/enter/{cast.home.ids['assembly']}/"
    assert WORDS in tester.get(where).content.decode()
    tester.post(where, {**GOOD, "client_id": "11111111-1111-4111-8111-111111111111"})
    entry = FieldEntry.objects.get(client_id="11111111-1111-4111-8111-111111111111")
    assert entry.attestation == WORDS
    settled(client_for(cast, "administrator"), attestation="Other words.")
    entry.refresh_from_db()
    assert entry.attestation == WORDS  # what was signed stays


def test_papers_are_keyed_by_two_where_the_office_says_so(cast: Cast) -> None:
    administrator = client_for(cast, "administrator")
    assert settled(administrator, papers_by_two="on").letterhead["papers_by_two"] is True
    page = administrator.get("/p/flats/field-tests/papers/").content.decode()
    assert "Each is keyed by two people" in page
    assert settled(administrator).letterhead["papers_by_two"] is False


# The union of what offices ask a report to carry: Washington WAC 246-292-036, Austin, New York,
# Illinois, Iowa City and Burnaby.
CARRIED = {
    "premises name": "premises",
    "service address": "address",
    "owner or representative and contact": "contact",
    "what is protected": "protects",
    "and why": "protects_from",
    "location on site": "location",
    "maker": "maker",
    "model": "model",
    "size": "size",
    "serial": "serial",
    "new, existing or replacement": "installed",
    "with old serial": "old_serial",
    "installation proper or not": "proper",
    "line pressure": "line_pressure",
    "time": "tested_at",
    "repairs and parts": "repairs",
    "gauge serial": "gauge_serial",
    "its calibration date": "gauge_calibrated_on",
    "tester name": "tester_name",
    "certificate number": "certificate",
    "its expiry": "certificate_ends_on",
    "supply back on": "supply_on",
    "detector meter reading": "meter_reading",
    "remarks": "remarks",
}


def test_the_form_asks_for_every_item_that_a_report_must_carry(cast: Cast) -> None:
    assert {what for what, name in CARRIED.items() if name not in ITEMS} == set()
    form = client_for(cast, "tester").get("/p/flats/enter/type/RPDA/").content.decode()
    missing = {what for what, name in CARRIED.items() if f'name="{name}"' not in form}
    assert missing == set()
    assert f'name="{SIGNATURE}"' in form
    for part in ("initial", "final"):
        for reading in ("relief", "check1", "check2_tight", "bypass_relief", "bypass_check1"):
            assert f'name="{part}_{reading}"' in form
