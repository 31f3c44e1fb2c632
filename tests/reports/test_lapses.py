"""A lapse found later marks the tests done in it, and a person decides one by one."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from registry import models as rows
from registry.changes import Hand
from registry.models import Calibration, Certification, Gauge, Program
from reports.actions.credentials import (
    CalibrationTold,
    CredentialError,
    TermTold,
    end_term,
    keep_calibration,
    keep_term,
    strike_calibration,
)
from reports.actions.deciding import DecisionError, settle_field_test, strike_field_test
from reports.domain.lapses import is_off
from reports.models import FieldTest
from scheduling.models import AssemblyState, Fact
from tests.reports.conftest import AS_OF, MORNING, Load

HAND = Hand(by="clerk", at=MORNING)
EARLY = {"Serial": "F988627", "Make": "Ironbridge", "Test Date": "2026-03-10",
         "Initial CK1": "2.0", "Initial CK2": "2.0", "Initial RV": "", "CK2 Tight": ""}  # fmt: skip


def passed_on() -> date | None:
    return AssemblyState.objects.get(assembly__serial="K925771").last_passed_on


def withdrawn(program: Program, on: date) -> int:
    return end_term(
        program=program, term_id=Certification.objects.get().pk, ended_on=on,
        why="withdrawn by the board", today=AS_OF, hand=HAND,
    )  # fmt: skip


# An expired tester's test does not count (Utah R309-305).
def test_a_certificate_withdrawn_later_marks_the_tests_from_its_day_and_no_earlier(
    load: Load, program: Program
) -> None:
    load({}, EARLY)
    assert withdrawn(program, date(2026, 11, 1)) == 1
    late = FieldTest.objects.get(serial="K925771")
    assert "ended on 2026-10-31" in late.later_doubts[0]
    assert (late.counts, late.waits_for_person) == (True, True)
    assert not FieldTest.objects.get(serial="F988627").later_doubts
    assert passed_on() == date(2026, 11, 20)


def test_a_marked_test_is_struck_by_a_person_and_its_assembly_stands_as_before(
    load: Load, program: Program
) -> None:
    load({})
    withdrawn(program, date(2026, 11, 1))
    test = FieldTest.objects.get()
    strike_field_test(program=program, test_id=test.pk, decision="void", as_of=AS_OF, hand=HAND)
    test.refresh_from_db()
    assert (test.counts, test.waits_for_person, test.decision) == (False, False, "void")
    assert Fact.objects.get(source="field test").withdrawn_by == "clerk"
    assert passed_on() is None


def test_a_marked_test_may_also_be_left_to_count(load: Load, program: Program) -> None:
    load({})
    withdrawn(program, date(2026, 11, 1))
    test = FieldTest.objects.get()
    settle_field_test(program=program, test_id=test.pk, decision="paid late, held", hand=HAND)
    test.refresh_from_db()
    assert (test.counts, test.waits_for_person) == (True, False)
    assert passed_on() == date(2026, 11, 20)


def test_a_mark_goes_where_its_cause_goes(load: Load, program: Program) -> None:
    load({})
    withdrawn(program, date(2026, 11, 1))
    keep_term(
        program=program, tester=rows.Tester.objects.get(),
        told=TermTold(number="", issued_by="", classes="", valid_from=date(2026, 10, 1),
                      valid_to=date(2028, 10, 1)),
        today=AS_OF, hand=HAND,
    )  # fmt: skip
    test = FieldTest.objects.get()
    assert (test.later_doubts, test.waits_for_person) == ([], False)


def test_nothing_that_was_not_marked_can_be_struck(load: Load, program: Program) -> None:
    load({"Serial": "Z1"})
    test = FieldTest.objects.get()
    with pytest.raises(DecisionError, match="cannot be struck"):
        strike_field_test(program=program, test_id=test.pk, decision="x", as_of=AS_OF, hand=HAND)


def test_a_calibration_found_wrong_backs_no_test_and_stays_on_record(
    load: Load, program: Program
) -> None:
    load({})
    row = Calibration.objects.get()
    marked = strike_calibration(
        program=program, calibration_id=row.pk, why="another gauge's", today=AS_OF, hand=HAND
    )
    assert marked == 1
    assert "not verified" in FieldTest.objects.get().later_doubts[0]
    assert Calibration.objects.get().struck_why == "another gauge's"


# +-0.2 psid is held acceptable (one water company's guide); 0.2 itself is.
@pytest.mark.parametrize(("error", "off"), [("0.2", False), ("-0.20", False), ("0.21", True)])
def test_a_gauge_is_off_beyond_two_tenths_either_way(error: str, off: bool) -> None:
    assert is_off(Decimal(error)) is off
    assert is_off(None) is False


def test_a_gauge_found_off_marks_the_tests_since_the_calibration_before(
    load: Load, program: Program
) -> None:
    load({}, EARLY)
    gauge = Gauge.objects.get()
    told = CalibrationTold(
        calibrated_on=date(2026, 6, 1),
        as_found_error_psid=Decimal("-0.35"),
        file_name="june.pdf",
        content=b"%PDF-1.4 a certificate",
    )
    assert keep_calibration(program=program, gauge=gauge, told=told, today=AS_OF, hand=HAND) == 1
    early = FieldTest.objects.get(serial="F988627")
    assert "-0.35 psid off" in early.later_doubts[0]
    assert not FieldTest.objects.get(serial="K925771").later_doubts
    row = Calibration.objects.get(calibrated_on=date(2026, 6, 1))
    assert (row.certificate_name, len(row.certificate_sha256)) == ("june.pdf", 64)


def test_a_certificate_that_is_no_picture_and_no_pdf_is_refused(program: Program) -> None:
    for content, day in ((b"MZ a program", date(2026, 6, 1)), (b"", date(2027, 6, 1))):
        told = CalibrationTold(calibrated_on=day, as_found_error_psid=None, content=content)
        with pytest.raises(CredentialError):
            keep_calibration(
                program=program, gauge=Gauge.objects.get(), told=told, today=AS_OF, hand=HAND
            )
    assert Calibration.objects.count() == 1


def test_classes_that_leave_the_type_out_keep_a_test_from_counting(
    load: Load, program: Program
) -> None:
    Certification.objects.update(classes="DC, PVB")
    _, answer, _ = load({}, EARLY)
    counts = {one["serial"]: one["counts"] for one in answer["results"]}
    assert counts == {"K925771": False, "F988627": True}
    (why,) = [one for one in answer["results"][0]["reasons"] if "covers" in one]
    assert "covers DC, PVB on 2026-11-20, and this is a RP" in why


def test_a_second_certificate_of_a_tester_is_known_by_its_own_number(
    load: Load, program: Program
) -> None:
    load({"Tester Cert": "B-77"})
    assert not FieldTest.objects.get().counts
    keep_term(
        program=program, tester=rows.Tester.objects.get(),
        told=TermTold(number="B-77", issued_by="State board", classes="RP",
                      valid_from=date(2026, 1, 1), valid_to=date(2026, 12, 31)),
        today=AS_OF, hand=HAND,
    )  # fmt: skip
    load({"Tester Cert": "B-77"})
    assert FieldTest.objects.get().counts
