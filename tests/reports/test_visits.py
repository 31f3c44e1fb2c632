"""Visits without a test, what they saw, and assemblies found in the field, through to standings."""

from __future__ import annotations

import hashlib
from datetime import date
from decimal import Decimal

import pytest

from registry.changes import Hand
from registry.domain.identity import serial_key
from registry.domain.kinds import AssemblyType
from registry.models import Assembly, Program, Question
from reports.actions.deciding import DecisionError
from reports.actions.found import FoundTold, accept_as_new, accept_as_replacement
from reports.actions.mending import StillFaultyError, mend_field_test
from reports.models import FieldTest, FoundAssembly
from reports.views.report_versions import counts_as
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.models import Adoption, AssemblyState, Fact, Rulebook
from scheduling.queries.shipped import shipped_text
from tests.reports.conftest import AS_OF, MORNING, Load

HAND = Hand(by="clerk", at=MORNING, reason="the plate was seen")
NOTHING = {"Initial RV": "", "Initial CK1": "", "CK2 Tight": "", "SOV2 Tight": "", "Result": ""}


def test_a_visit_without_a_test_is_a_fact_with_its_cause_and_moves_no_due_date(load: Load) -> None:
    due = AssemblyState.objects.get(assembly__serial="K925771").due_on
    code, answer, _ = load({**NOTHING, "Could not be tested": "no access", "Gauge Serial": ""})
    (result,) = answer["results"]
    assert (code, result["outcome"], result["counts"]) == (0, "incomplete", True)
    fact = Fact.objects.get(source="field test")
    assert (fact.kind, fact.on) == ("untestable", date(2026, 11, 20))
    assert fact.detail["hindrance"] == "no access"
    assert FieldTest.objects.get().hindrance == "no access"
    assert AssemblyState.objects.get(assembly__serial="K925771").due_on == due
    assert Question.objects.get(key__startswith="visit:").kind == "could not be tested"


# EPA 816-R-03-002, ch. 5: the readings count only with shutoff valve 2 tight or no-flow shown.
def test_a_leaking_second_shutoff_valve_is_kept_with_the_valve_for_the_letter(load: Load) -> None:
    load({"SOV2 Tight": "N"})
    test = FieldTest.objects.get()
    assert (test.outcome, test.hindrance) == ("incomplete", "shutoff valve 2 leaks")
    fact = Fact.objects.get(source="field test")
    assert (fact.kind, fact.detail["valve"]) == ("untestable", "shutoff valve 2")
    assert test.fact == fact


def test_a_running_relief_valve_and_a_pipe_in_its_place_are_asked_about_as_dangers(
    load: Load,
) -> None:
    load(
        {"Relief valve seen running": "yes", "Could not be tested": ""},
        {**NOTHING, "Serial": "F988627", "Make": "Ironbridge", "Could not be tested": "pipe"},
    )
    kinds = list(Question.objects.filter(key__startswith="visit:").values_list("kind", flat=True))
    assert sorted(kinds) == ["danger: relief valve running", "danger: replaced by pipe"]
    asked = Question.objects.get(kind="danger: replaced by pipe")
    assert asked.assembly is not None
    assert asked.assembly.serial == "F988627"
    load({"Relief valve seen running": "yes"})
    assert Question.objects.filter(key__startswith="visit:").count() == 2


def told(serial: str, **more: object) -> FoundTold:
    plain = {"type": AssemblyType.RP, "maker": "Castlewell", "model": "", "location": "by the gate"}
    return FoundTold(serial=serial, size_in=Decimal("1.000"), **{**plain, **more})  # type: ignore[arg-type]


FOUND = {"Serial": "ZZ-1", "Service address": "7 Larch Ct", "Type": "RP", "Model": "M1"}


def test_an_unknown_assembly_lands_as_a_proposal_with_what_the_report_says(load: Load) -> None:
    load(FOUND)
    found = FoundAssembly.objects.get()
    assert found.stated["address"] == "7 Larch Ct"
    assert (found.stated["type"], found.stated["model"]) == ("RP", "M1")
    assert found.field_test.initial["relief"] == "2.6"
    load(FOUND)
    assert FoundAssembly.objects.count() == 1


def test_a_find_is_settled_when_its_report_comes_again_and_the_registry_holds_it(
    load: Load, program: Program
) -> None:
    load(FOUND)
    old = Assembly.objects.get(serial="K925771")
    old.pk, old.serial, old.serial_key = None, "ZZ-1", serial_key("ZZ-1")
    old.save()
    load(FOUND)
    found = FoundAssembly.objects.get()
    assert (found.settled_how, found.assembly) == ("known", old)
    assert FieldTest.objects.get().counts


def test_taken_as_new_it_gets_its_row_its_premises_its_pass_and_its_due_date(
    load: Load, program: Program
) -> None:
    load(FOUND)
    found = FoundAssembly.objects.get()
    test = accept_as_new(
        program=program, found_id=found.pk, premises_id=None,
        told=told("ZZ-1", address="7 Larch Ct"), today=AS_OF, hand=HAND,
    )  # fmt: skip
    assembly = Assembly.objects.get(serial="ZZ-1")
    assert assembly.premises.address == "7 Larch Ct"
    assert (test.assembly, test.outcome, test.counts) == (assembly, "pass", True)
    state = AssemblyState.objects.get(assembly=assembly)
    assert (state.last_passed_on, state.installed_on) == (date(2026, 11, 20), None)
    found.refresh_from_db()
    assert (found.settled_how, found.assembly, found.settled_by) == ("new", assembly, "clerk")
    with pytest.raises(DecisionError, match="settled it before"):
        accept_as_new(
            program=program, found_id=found.pk, premises_id=None, told=told("ZZ-1"),
            today=AS_OF, hand=HAND,
        )  # fmt: skip


def test_taken_as_a_replacement_the_old_one_goes_and_points_to_it(
    load: Load, program: Program
) -> None:
    load({**FOUND, "Installed": "replacement", "Old serial": "K925771"})
    old = Assembly.objects.get(serial="K925771")
    test = accept_as_replacement(
        program=program, found_id=FoundAssembly.objects.get().pk, old_id=old.pk,
        told=told("ZZ-1"), today=AS_OF, hand=HAND,
    )  # fmt: skip
    old.refresh_from_db()
    new = Assembly.objects.get(serial="ZZ-1")
    assert (old.replaced_by, new.premises, new.hazard) == (new, old.premises, old.hazard)
    assert AssemblyState.objects.get(assembly=old).removed_on == date(2026, 11, 20)
    state = AssemblyState.objects.get(assembly=new)
    assert (state.installed_on, state.last_passed_on) == (date(2026, 11, 20), date(2026, 11, 20))
    assert test.counts
    assert test.serial == "ZZ-1"


def test_a_serial_that_is_taken_or_no_address_changes_nothing(load: Load, program: Program) -> None:
    load(FOUND)
    pk = FoundAssembly.objects.get().pk
    for serial, address in (("K925771", "7 Larch Ct"), ("ZZ-1", " ")):
        with pytest.raises(RefusedChangeError):
            accept_as_new(
                program=program, found_id=pk, premises_id=None,
                told=told(serial, address=address), today=AS_OF, hand=HAND,
            )  # fmt: skip
    assert not Assembly.objects.filter(serial="ZZ-1").exists()
    assert FieldTest.objects.get().assembly is None


def test_a_refused_report_is_mended_and_both_versions_stay_and_know_each_other(
    load: Load, program: Program
) -> None:
    load({"Tester Cert": "T-9999"})
    old = FieldTest.objects.get()
    assert not old.counts
    new = mend_field_test(
        program=program, test_id=old.pk, cells={"Tester Cert": "T-1000"}, as_of=AS_OF, hand=HAND
    )
    old.refresh_from_db()
    assert (new.mends, new.counts, new.outcome) == (old, True, "pass")
    assert (old.counts, old.waits_for_person, old.cells["Tester Cert"]) == (False, False, "T-9999")
    assert f"report {new.pk}" in old.decision
    assert Fact.objects.filter(source="field test").count() == 1
    with pytest.raises(DecisionError, match="counts"):
        mend_field_test(program=program, test_id=new.pk, cells={}, as_of=AS_OF, hand=HAND)


def test_what_is_still_faulty_or_unchanged_is_told_and_kept_as_it_was(
    load: Load, program: Program
) -> None:
    load({"Tester Cert": "T-9999"})
    test = FieldTest.objects.get()
    with pytest.raises(StillFaultyError, match="is no figure"):
        mend_field_test(
            program=program, test_id=test.pk, cells={"Initial RV": "2o"}, as_of=AS_OF, hand=HAND
        )
    with pytest.raises(DecisionError, match="Nothing was changed"):
        mend_field_test(program=program, test_id=test.pk, cells={}, as_of=AS_OF, hand=HAND)
    assert FieldTest.objects.count() == 1
    assert not FieldTest.objects.get().decision


RULES = """
[[hindrance]]
id = "not tested is failed"
hindrances = ["submerged", "shutoff valve 2 leaks"]
counts_as = "failed"
citation = "Invented for this test, after Crossville TN: could not be tested counts as failed"

[[report]]
id = "in five days"
days = 5
citation = "Invented for this test, after Austin TX: reports within 5 days"
"""


def with_rules(program: Program) -> None:
    text = shipped_text("plain-rolling").replace("\n[grace]", f"{RULES}\n[grace]", 1)
    book = Rulebook.objects.create(
        name="strict", program=program, title="Strict", text=text, loaded_at=MORNING,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )  # fmt: skip
    Adoption.objects.filter(program=program).update(rulebook=book)


# Crossville TN: an assembly that could not be tested counts as failed (rulebook data).
@pytest.mark.parametrize(
    ("cells", "failed_on"),
    [
        ({**NOTHING, "Could not be tested": "submerged"}, date(2026, 11, 20)),
        ({"SOV2 Tight": "N"}, date(2026, 11, 20)),
        ({**NOTHING, "Could not be tested": "no access"}, None),
    ],
)
def test_the_rulebook_says_what_a_visit_without_a_test_counts_as(
    load: Load, program: Program, cells: dict[str, str], failed_on: date | None
) -> None:
    with_rules(program)
    load({**cells, "Serial": "K925771"})
    assert AssemblyState.objects.get(assembly__serial="K925771").failed_on == failed_on
    test = FieldTest.objects.select_related("program").get()
    assert ("counts as failed" in counts_as(test)) is (failed_on is not None)


# Austin TX and Kansas City MO: a report is in within 5 days of the test.
@pytest.mark.parametrize("received", ["2026-11-25", "2026-11-24", ""])
def test_a_report_in_time_is_not_warned(load: Load, program: Program, received: str) -> None:
    with_rules(program)
    _, answer, _ = load({"Date received": received})
    assert not any("late" in one for one in answer["results"][0]["warnings"])


def test_a_late_report_is_warned_with_its_days_and_still_counts(
    load: Load, program: Program
) -> None:
    with_rules(program)
    _, answer, _ = load({"Test Date": "2026-11-18", "Date received": "2026-11-24"})
    (result,) = answer["results"]
    assert result["counts"] is True
    assert any("1 day late: it was due by 2026-11-23" in one for one in result["warnings"])
