"""The pages of judging do what they say, for an administrator and for nobody who may not."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from registry.models import Assembly, Calibration, Certification, Question
from reports.models import FieldTest, FoundAssembly, OwnMethod
from reports.queries.methods import method_text
from reports.queries.today import needs_of
from tests.access.addresses import address
from tests.access.cast import TODAY, Cast, made_cast
from tests.access.test_matrix import BACKEND


@pytest.fixture
def cast(db: None) -> Cast:
    return made_cast()


@pytest.fixture
def clerk(cast: Cast, client: Client) -> Client:
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    return client


def test_a_calibration_comes_with_its_certificate_and_the_same_bytes_go_out(
    cast: Cast, clerk: Client
) -> None:
    told = {
        "calibrated_on": "2026-10-01",
        "as_found_error_psid": "-0.3",
        "certificate": SimpleUploadedFile("october.pdf", b"%PDF-1.7 october"),
    }
    answer = clerk.post(address("calibration-new", cast.home), told, follow=True)
    assert "It is kept" in answer.content.decode()
    row = Calibration.objects.get(program=cast.home.program, calibrated_on=date(2026, 10, 1))
    page = clerk.get(f"/p/{cast.home.program.code}/calibrations/{row.pk}/file/")
    assert (page.content, page["Content-Type"]) == (b"%PDF-1.7 october", "application/pdf")
    assert "attachment" in page["Content-Disposition"]


def test_a_file_that_is_no_certificate_is_refused_beside_its_field(
    cast: Cast, clerk: Client
) -> None:
    told = {"calibrated_on": "2026-10-01", "certificate": SimpleUploadedFile("x.pdf", b"MZ")}
    answer = clerk.post(address("calibration-new", cast.home), told)
    assert "is no PDF, PNG or JPEG" in answer.content.decode()
    assert not Calibration.objects.filter(calibrated_on=date(2026, 10, 1)).exists()


def test_a_term_is_ended_and_a_calibration_struck_with_a_reason(cast: Cast, clerk: Client) -> None:
    clerk.post(address("term-end", cast.home), {"ended_on": "2026-06-01", "why": "withdrawn"})
    term = Certification.objects.get(program=cast.home.program)
    assert (term.ended_on, term.ended_why) == (date(2026, 6, 1), "withdrawn")
    clerk.post(address("calibration-strike", cast.home), {"why": ""})
    row = Calibration.objects.get(program=cast.home.program)
    assert row.struck_at is None
    clerk.post(address("calibration-strike", cast.home), {"why": "another gauge's"})
    row.refresh_from_db()
    assert row.struck_why == "another gauge's"
    assert "another gauge" in clerk.get(address("gauge", cast.home)).content.decode()


def test_a_find_is_taken_in_by_its_form(cast: Cast, clerk: Client) -> None:
    test = FieldTest.objects.get(pk=cast.home.ids["test"])
    FieldTest.objects.filter(pk=test.pk).update(
        assembly=None, serial="ZZ-1", waits_for_person=True,
        cells={"Serial": "ZZ-1", "Test Date": "2026-11-20", "Initial RV": "2.6"},
    )  # fmt: skip
    FoundAssembly.objects.filter(field_test=test).update(settled_at=None, settled_how="")
    told = {"how": "new", "type": "RP", "serial": "ZZ-1", "size": "3/4", "address": "7 Larch Ct"}
    answer = clerk.post(address("found-one", cast.home), {**told, "size": ""})
    assert "Size" in answer.content.decode()
    answer = clerk.post(address("found-one", cast.home), told, follow=True)
    assert "It is in the registry" in answer.content.decode()
    made = Assembly.objects.get(serial="ZZ-1")
    test.refresh_from_db()
    assert (str(made.size_in), test.assembly) == ("0.750", made)


def test_own_limits_are_kept_by_their_form(cast: Cast, clerk: Client) -> None:
    where = f"{address('method-new', cast.home)}?copy=epa"
    assert "EPA 816-R-03-002" in clerk.get(where).content.decode()
    answer = clerk.post(where, {"text": method_text("epa")})
    assert "is a method that ships" in answer.content.decode()
    text = method_text("epa").replace('name = "epa"', 'name = "town"', 1)
    clerk.post(where, {"text": text})
    assert OwnMethod.objects.get(program=cast.home.program, name="town").copied_from == "epa"


def test_dangers_stand_first_on_today_and_finds_have_their_line(cast: Cast) -> None:
    program = cast.home.program
    Question.objects.create(
        program=program,
        key="d",
        kind="danger: bypassed",
        text="A100: an open way.",
        raised_on=TODAY,
    )
    FoundAssembly.objects.update(settled_at=None)
    needs = needs_of(program, today=TODAY)
    assert needs[0].what == "Danger: bypassed"
    assert "found" in {one.page for one in needs}
    assert sum(one.what == "Danger: bypassed" for one in needs) == 1
