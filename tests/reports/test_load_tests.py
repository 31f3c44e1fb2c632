"""Reports come in, are judged, and move the standing only where they count."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from registry.domain.kinds import AssemblyType
from registry.models import Change, LoadBatch, Program, SetAsideRow
from reports.domain.readings import Reading, ReadingName, Unit, read_cell
from reports.domain.two_parts import judge_parts
from reports.models import FieldTest
from reports.queries.methods import limits_of
from scheduling.models import AssemblyState, Fact, Obligation
from tests.reports.conftest import AS_OF, Load, accept, sheet

RESULT_KEYS = {
    "row",
    "serial",
    "found",
    "near",
    "as_found",
    "outcome",
    "counts",
    "reasons",
    "warnings",
}
FAILING = {"Initial RV": "1.4", "Result": "FAIL"}
REPAIRED = {
    **FAILING,
    "Repairs": "cleaned RV seat",
    "Final RV": "2.8",
    "Final CK1": "7.4",
    "Final CK2 Tight": "Y",
    "Result": "PASS",
}
UNKNOWN_TESTER = {"Tester Cert": "T-9999"}


def only(answer: dict[str, Any]) -> dict[str, Any]:
    (result,) = answer["results"]
    found: dict[str, Any] = result
    return found


def state(serial: str = "K925771") -> AssemblyState:
    return AssemblyState.objects.get(assembly__serial=serial)


def facts_brought() -> list[tuple[str, date]]:
    rows = Fact.objects.filter(source="field test").order_by("id")
    return list(rows.values_list("kind", "on"))


def test_a_counting_pass_meets_what_is_owed_and_moves_the_due_date(load: Load) -> None:
    assert state().due_on == date(2020, 6, 11)
    code, answer, _ = load({})
    assert code == 0
    assert set(answer) == {"rows", "stored", "results", "rejected"}
    result = only(answer)
    assert set(result) == RESULT_KEYS
    assert (result["found"], result["as_found"], result["outcome"]) == (True, "pass", "pass")
    assert result["counts"] is True
    assert result["near"] == []
    assert state().last_passed_on == date(2026, 11, 20)
    assert state().due_on == date(2027, 11, 20)
    assert Obligation.objects.get(closed_how="met", assembly__serial="K925771")


def test_a_counting_failure_sets_the_day_by_which_to_cure(load: Load) -> None:
    code, answer, _ = load(FAILING)
    assert code == 0
    assert only(answer)["outcome"] == "fail"
    assert state().failed_on == date(2026, 11, 20)
    # Teaching rulebook plain-rolling: cured within 21 days at low hazard.
    assert state().cure_by == date(2026, 12, 11)


def test_a_failure_repaired_and_passed_is_one_fact_and_leaves_nothing_to_cure(load: Load) -> None:
    _, answer, _ = load(REPAIRED)
    assert (only(answer)["as_found"], only(answer)["outcome"]) == ("fail", "pass")
    assert facts_brought() == [("passed", date(2026, 11, 20))]
    assert Fact.objects.get(source="field test").detail == {
        "found_failed": True,
        "repaired_inside": True,
    }
    assert state().failed_on is None
    assert state().last_passed_on == date(2026, 11, 20)


def test_a_failure_whose_final_part_is_incomplete_is_a_failed_fact(load: Load) -> None:
    _, answer, _ = load({**REPAIRED, "Final CK1": ""})
    assert (only(answer)["as_found"], only(answer)["outcome"]) == ("fail", "incomplete")
    assert facts_brought() == [("failed", date(2026, 11, 20))]


def test_an_incomplete_part_alone_is_no_fact_and_waits_for_a_person(load: Load) -> None:
    _, answer, _ = load({"Initial RV": ""})
    assert only(answer)["outcome"] == "incomplete"
    assert only(answer)["counts"] is True
    assert facts_brought() == []
    assert FieldTest.objects.get().waits_for_person


@pytest.mark.parametrize("row", [UNKNOWN_TESTER, {"Gauge Serial": "G9"}, {"Tester Cert": ""}])
def test_what_is_known_only_from_the_report_is_not_verified_and_does_not_count(
    load: Load, row: dict[str, str]
) -> None:
    _, answer, _ = load(row)
    assert only(answer)["outcome"] == "pass"
    assert only(answer)["counts"] is False
    assert any("not verified" in reason for reason in only(answer)["reasons"])
    assert facts_brought() == []
    assert state().last_passed_on is None


def test_a_failing_test_that_does_not_count_changes_no_standing_and_waits(load: Load) -> None:
    before = list(AssemblyState.objects.values_list("pk", "failed_on", "due_on", "opens_on"))
    _, answer, _ = load({**FAILING, **UNKNOWN_TESTER})
    assert only(answer)["outcome"] == "fail"
    after = AssemblyState.objects.values_list("pk", "failed_on", "due_on", "opens_on")
    assert list(after) == before
    assert facts_brought() == []
    assert FieldTest.objects.get().waits_for_person


def test_the_record_decides_where_a_report_claims_a_newer_calibration(
    load: Load, program: Program
) -> None:
    accept(program, certificate="T-2", gauge="G2", calibrated_on=date(2025, 1, 15))
    row = {"Tester Cert": "T-2", "Gauge Serial": "G2", "Gauge Calibrated": "2026-10-01"}
    _, answer, _ = load(row)
    assert only(answer)["counts"] is False
    assert any("the record decides" in warning for warning in only(answer)["warnings"])


def test_declared_and_read_results_that_differ_are_warned_and_the_readings_decide(
    load: Load,
) -> None:
    _, answer, _ = load({**FAILING, "Result": "PASS"})
    assert only(answer)["outcome"] == "fail"
    assert any("the readings decide" in warning for warning in only(answer)["warnings"])
    _, answer, _ = load({"Result": "FAIL"})
    assert only(answer)["outcome"] == "pass"
    assert any("the readings decide" in warning for warning in only(answer)["warnings"])
    assert not load({})[1]["results"][0]["warnings"]


def test_an_assembly_nobody_knows_is_stored_with_what_comes_close(load: Load) -> None:
    code, answer, _ = load(
        {"Serial": "177529K"},
        {"Serial": "K952771"},
        {"Serial": "K925771", "Make": "Northfork"},
        {"Serial": "Z555555"},
    )
    assert code == 0
    assert answer["stored"] == 4
    assert [result["found"] for result in answer["results"]] == [False] * 4
    near = [result["near"] for result in answer["results"]]
    assert near == [["K925771"], ["K925771"], ["K925771"], []]
    assert {result["outcome"] for result in answer["results"]} == {None}
    assert {result["as_found"] for result in answer["results"]} == {None}
    assert {result["counts"] for result in answer["results"]} == {False}
    assert FieldTest.objects.filter(assembly=None, waits_for_person=True).count() == 4


def test_a_report_without_a_maker_means_the_only_assembly_with_its_serial(load: Load) -> None:
    assert only(load({"Make": ""})[1])["found"] is True


def test_the_same_report_again_is_not_stored_twice_and_changes_nothing(load: Load) -> None:
    assert load({})[1]["stored"] == 1
    facts, tests = Fact.objects.count(), FieldTest.objects.count()
    rows = list(Obligation.objects.values())
    code, answer, _ = load({}, {"Test Date": "11/20/26", "Initial RV": "2,60", "Serial": "k925771"})
    assert code == 0
    assert (answer["rows"], answer["stored"], len(answer["results"])) == (2, 0, 2)
    assert only(load({})[1])["outcome"] == "pass"
    assert (Fact.objects.count(), FieldTest.objects.count()) == (facts, tests)
    assert list(Obligation.objects.values()) == rows


def test_one_report_twice_in_a_file_is_stored_once(load: Load) -> None:
    _, answer, _ = load({}, {})
    assert (answer["rows"], answer["stored"]) == (2, 1)
    assert len(facts_brought()) == 1


def test_a_report_that_did_not_count_counts_once_the_record_knows_its_tester(
    load: Load, program: Program
) -> None:
    row = {"Tester Cert": "T-2", "Gauge Serial": "G2"}
    assert only(load(row)[1])["counts"] is False
    accept(program, certificate="T-2", gauge="G2", calibrated_on=date(2026, 1, 15))
    _, answer, _ = load(row)
    assert answer["stored"] == 0
    assert only(answer)["counts"] is True
    assert facts_brought() == [("passed", date(2026, 11, 20))]
    stored = FieldTest.objects.get()
    assert stored.counts
    assert stored.fact is not None


def test_faults_are_told_by_row_column_and_value_and_the_rest_goes_on(load: Load) -> None:
    code, answer, _ = load(
        {"Test Date": "2026-11-26"},
        {"Test Date": "soon", "Initial RV": "1e3"},
        {"Serial": ""},
        {},
    )
    assert code == 1
    assert (answer["rows"], answer["stored"]) == (4, 1)
    told = [(fault["row"], fault["column"], fault["value"]) for fault in answer["rejected"]]
    assert told == [
        (2, "Test Date", "2026-11-26"),
        (3, "Test Date", "soon"),
        (3, "Initial RV", "1e3"),
        (4, "Serial", ""),
    ]
    assert all(fault["message"] for fault in answer["rejected"])
    assert [row.row for row in SetAsideRow.objects.order_by("row")] == [2, 3, 4]


def test_a_type_without_a_field_test_is_refused_and_stored(load: Load) -> None:
    code, answer, _ = load({"Serial": "A700001", "Make": "Northfork"})
    assert code == 1
    assert only(answer)["outcome"] == "refused"
    assert answer["stored"] == 1
    assert facts_brought() == []


def test_a_dry_run_says_the_same_and_changes_nothing(load: Load) -> None:
    rows: tuple[dict[str, str], ...] = ({}, FAILING, {"Serial": "Z1"}, {"Test Date": "x"})
    code, answer, _ = load(*rows, dry_run=True)
    for model in (FieldTest, LoadBatch, SetAsideRow, Change):
        assert not model.objects.exists()
    assert facts_brought() == []
    assert (code, answer) == load(*rows)[:2]


def test_another_method_may_be_asked_for(load: Load) -> None:
    row = {"Initial RV": "2.4", "Initial CK1": "5.0"}
    assert only(load(row)[1])["outcome"] == "pass"
    # USC manual, 9th edition: check 1 less relief at least 3.0.
    assert only(load(row, method="usc9")[1])["outcome"] == "fail"


def test_detector_columns_without_a_final_twin_serve_both_parts(load: Load) -> None:
    bypass = {
        "Bypass RV": "2.6",
        "Bypass CK1": "7.0",
        "Bypass CK2 Tight": "Y",
        "Meter Moved": "Y",
    }
    row = {**REPAIRED, **bypass, "Serial": "C530549", "Make": "Tidemark"}
    assert only(load(row)[1])["outcome"] == "pass"
    assert only(load({**row, "Bypass RV": "1.0"})[1])["outcome"] == "fail"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_the_file_may_be_of_any_promised_form(load: Load, delimiter: str, encoding: str) -> None:
    text = sheet({"Remarks": "größer, wärmer"}, {"Test Date": "21-Nov-26"})
    text = text.replace('","', f'"{delimiter}"').replace("Serial", "  SERIAL no. ", 1)
    code, answer, _ = load(data=text.encode(encoding))
    assert code == 0
    assert [result["outcome"] for result in answer["results"]] == ["pass", "pass"]


def test_refusals_end_with_2_and_an_error(load: Load) -> None:
    for code, answer, words in (
        load({}, program="nobody"),
        load({}, method="usc11"),
        load(data=b""),
        load(data=b"Serial,Weather\nA,sunny\n"),
    ):
        assert code == 2
        assert set(answer) == {"error"}
        assert words.strip()
    assert not FieldTest.objects.exists()


def test_a_batch_keeps_its_file_its_tally_and_one_change_row(load: Load) -> None:
    load({}, {"Test Date": "x"})
    batch = LoadBatch.objects.get()
    assert (batch.what, batch.as_of) == ("tests", AS_OF)
    assert batch.tally == {"rows": 2, "stored": 1, "rejected": 1}
    assert Change.objects.get().batch == batch


def test_a_removed_assembly_that_is_tested_goes_to_a_person(load: Load, program: Program) -> None:
    from scheduling.actions.facts import NewFact, record_facts
    from scheduling.actions.replaying import replay_assemblies
    from scheduling.domain.facts import FactKind
    from tests.reports.conftest import MORNING

    gone = NewFact(assembly_id=state().pk, kind=FactKind.REMOVED, on=date(2026, 11, 1))
    record_facts(program=program, facts=[gone], recorded_at=MORNING, by="test")
    replay_assemblies(program=program, assembly_ids=[state().pk], as_of=AS_OF)
    _, answer, _ = load({})
    assert any("removed" in warning for warning in only(answer)["warnings"])
    assert FieldTest.objects.get().waits_for_person


def test_a_stored_verdict_can_be_worked_out_again_from_what_is_kept(load: Load) -> None:
    load({}, REPAIRED, {**FAILING, "Serial": "E214807", "Make": "Ironbridge"})
    for test in FieldTest.objects.exclude(assembly=None):
        basis = test.verdict["basis"]
        limits = limits_of(test.method)
        assert (basis["method"], basis["limits_sha256"]) == (limits.name, limits.sha256)
        again = judge_parts(
            limits,
            assembly_type=AssemblyType(basis["type"]),
            unit=Unit(test.unit),
            initial=_readings(test.initial),
            final=_readings(test.final),
            twins=frozenset(ReadingName(name) for name in basis["asked_again"]),
            repaired=bool(test.repairs),
        )
        assert again.initial.plain() == test.verdict["initial"]
        assert (again.final.plain() if again.final else None) == test.verdict["final"]


def _readings(kept: dict[str, str]) -> dict[ReadingName, Reading]:
    return {
        ReadingName(name): read_cell(name=ReadingName(name), column=name, text=text).reading
        for name, text in kept.items()
    }
