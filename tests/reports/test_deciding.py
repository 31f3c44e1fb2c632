"""What waits for a person is settled by one, and nothing else moves."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from registry.changes import Hand
from registry.models import Assembly, Change, Program
from reports.actions.deciding import DecisionError, settle_field_test, take_field_test_as
from reports.models import FieldTest
from scheduling.models import AssemblyState, Fact
from tests.reports.conftest import AS_OF, MORNING, Load

HAND = Hand(by="clerk", at=MORNING)


def take(program: Program, test: FieldTest, serial: str = "K925771") -> FieldTest:
    assembly = Assembly.objects.get(serial=serial)
    return take_field_test_as(
        program=program, test_id=test.pk, assembly_id=assembly.pk, as_of=AS_OF, hand=HAND
    )


def test_a_misread_serial_is_taken_as_the_assembly_meant_and_counts(
    load: Load, program: Program
) -> None:
    load({"Serial": "177529K"})
    test = take(program, FieldTest.objects.get())
    assert (test.outcome, test.counts, test.waits_for_person) == ("pass", True, False)
    assert test.serial == "177529K"
    assert Fact.objects.get(source="field test").on == date(2026, 11, 20)
    state = AssemblyState.objects.get(assembly__serial="K925771")
    assert state.last_passed_on == date(2026, 11, 20)
    assert Change.objects.get(what="fieldtest").by == "clerk"


def test_a_taken_report_that_fails_and_does_not_count_still_waits(
    load: Load, program: Program
) -> None:
    load({"Serial": "177529K", "Initial RV": "1.0", "Tester Cert": "T-9"})
    test = take(program, FieldTest.objects.get())
    assert (test.outcome, test.counts, test.waits_for_person) == ("fail", False, True)
    assert not Fact.objects.filter(source="field test").exists()


def test_loading_the_file_again_leaves_a_taken_report_as_it_was_decided(
    load: Load, program: Program
) -> None:
    load({"Serial": "177529K"})
    take(program, FieldTest.objects.get())
    _, answer, _ = load({"Serial": "177529K"})
    assert answer["stored"] == 0
    assert FieldTest.objects.get().assembly is not None
    assert Fact.objects.filter(source="field test").count() == 1


def test_a_settled_report_waits_no_more_and_moves_nothing(load: Load, program: Program) -> None:
    load({"Serial": "Z1"})
    test = FieldTest.objects.get()
    settle_field_test(program=program, test_id=test.pk, decision="another town's", hand=HAND)
    test.refresh_from_db()
    assert (test.waits_for_person, test.decided_by, test.assembly) == (False, "clerk", None)
    assert not Fact.objects.filter(source="field test").exists()


def test_what_cannot_be_decided_says_why(load: Load, program: Program) -> None:
    load({"Serial": "Z1"}, {})
    waiting = FieldTest.objects.get(serial="Z1")
    good = FieldTest.objects.get(serial="K925771")
    other = Program.objects.create(code="other", name="Other", created_at=MORNING)
    decisions: list[Callable[[], FieldTest]] = [
        lambda: settle_field_test(program=program, test_id=waiting.pk, decision=" ", hand=HAND),
        lambda: settle_field_test(program=program, test_id=good.pk, decision="x", hand=HAND),
        lambda: settle_field_test(program=other, test_id=waiting.pk, decision="x", hand=HAND),
        lambda: take(program, good),
        lambda: take_field_test_as(
            program=program, test_id=waiting.pk, assembly_id=0, as_of=AS_OF, hand=HAND
        ),
    ]
    for decide in decisions:
        with pytest.raises(DecisionError) as caught:
            decide()
        assert caught.value.message
