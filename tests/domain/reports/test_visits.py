"""A visit beside its readings: no test, what was seen, classes, and what makes two reports one."""

from __future__ import annotations

from datetime import date

import pytest

from registry.domain.kinds import AssemblyType, DateOrder
from reports.domain.admissibility import CredentialRecord
from reports.domain.assessing import AssemblyOnRecord, Assessed, assess
from reports.domain.classes import covers
from reports.domain.findings import findings_of
from reports.domain.report_columns import recognise
from reports.domain.report_rows import FieldReport, read_report
from reports.domain.visits import Cause, cause_named, hindrance_of
from scheduling.domain.facts import FactKind, Hindrance
from tests.domain.reports.cases import limits

GOOD = {
    "Serial": "K1",
    "Test Date": "2026-11-20",
    "Initial RV": "2.6",
    "Initial CK1": "7.0",
    "CK2 Tight": "Y",
    "SOV2 Tight": "Y",
    "Final RV": "",
    "Final CK1": "",
    "Final CK2 Tight": "",
    "Repairs": "",
}
NOTHING = {"Initial RV": "", "Initial CK1": "", "CK2 Tight": "", "SOV2 Tight": ""}
RECORD = CredentialRecord(testers={}, gauges={}, calibration_months=12, calibration_citation="")
ON_RECORD = AssemblyOnRecord(assembly_id=1, serial="K1", maker="", type=AssemblyType.RP)


def report(**cells: str) -> FieldReport:
    told = {**GOOD, **{name.replace("_", " "): text for name, text in cells.items()}}
    found = read_report(
        row=2,
        cells=told,
        columns=recognise(list(told), saved={}),
        order=DateOrder.MONTH_FIRST,
        as_of=date(2026, 11, 25),
    )
    assert isinstance(found, FieldReport)
    return found


def weighed(**cells: str) -> Assessed:
    told = report(**cells)
    twins = recognise(list(told.cells), saved={}).twins
    return assess(
        report=told,
        assembly=ON_RECORD,
        near=(),
        twins=twins,
        limits=limits("usc10"),
        record=RECORD,
    )


# Crossville TN counts an assembly that could not be tested as failed; "no access" is usually not
# tested (common practice): the cause is kept, and the rulebook decides.
def test_a_visit_without_a_reading_keeps_its_cause_and_asks_for_no_gauge() -> None:
    found = weighed(**NOTHING, Could_not_be_tested="Submerged")
    assert found.hindrance is Cause.SUBMERGED
    assert found.reasons[0].startswith("It does not count")
    assert any("could not be tested: submerged" in one for one in found.reasons)
    assert not any("gauge" in one.lower() for one in found.reasons)


# EPA 816-R-03-002, ch. 5: shutoff valve 2 holds, or no-flow is shown, before readings count.
def test_a_leaking_second_shutoff_valve_is_no_test_and_names_the_valve() -> None:
    found = weighed(SOV2_Tight="N")
    assert (found.outcome, found.hindrance) == ("incomplete", Cause.SHUTOFF2_LEAKS)
    assert weighed(SOV2_Tight="no flow").hindrance is None


def test_a_blank_reading_alone_is_no_hindrance() -> None:
    assert weighed(**{"Initial RV": ""}).hindrance is None


def test_a_cause_beside_readings_that_tell_is_warned_and_the_readings_decide() -> None:
    found = weighed(Could_not_be_tested="submerged")
    assert (found.outcome, found.hindrance) == ("pass", None)
    assert any("the readings decide" in one for one in found.warnings)


def test_a_figure_of_zero_was_measured() -> None:
    found = weighed(**{**NOTHING, "Initial CK1": "0.0"}, Could_not_be_tested="submerged")
    assert found.outcome == "fail"
    assert found.hindrance is None


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("", None),
        ("no", None),
        ("No Access", Cause.NO_ACCESS),
        ("under  water", Cause.SUBMERGED),
        ("RV running", Cause.RELIEF_RUNNING),
        ("bees", Cause.OTHER),
    ],
)
def test_a_cause_may_be_said_in_many_words(text: str, cause: Cause | None) -> None:
    assert cause_named(text) is cause


@pytest.mark.parametrize(
    ("cells", "kinds"),
    [
        ({}, []),
        ({"Relief valve seen running": "yes"}, ["danger: relief valve running"]),
        ({"Open way around": "yes"}, ["danger: bypassed"]),
        ({**NOTHING, "Could not be tested": "replaced by pipe"}, ["danger: replaced by pipe"]),
        ({**NOTHING, "Could not be tested": "no access"}, ["could not be tested"]),
        ({**NOTHING, "Could not be tested": "valve seized"}, ["could not be tested"]),
        ({"Properly installed": "no"}, ["wrongly installed"]),
        ({"Installed": "replacement", "Old serial": "K0"}, ["replacement"]),
        ({"SOV2 Tight": "N"}, ["could not be tested"]),
    ],
)
def test_each_finding_of_a_visit_is_told_once(cells: dict[str, str], kinds: list[str]) -> None:
    assert [one.kind for one in findings_of(weighed(**cells))] == kinds


# A relief valve seen running is evidence whatever the readings: it goes to a person.
def test_a_running_relief_valve_is_told_beside_a_pass() -> None:
    found = weighed(**{"Relief valve seen running": "yes"})
    assert found.outcome == "pass"
    assert next(findings_of(found)).is_dangerous


def test_in_a_sheet_a_missing_signature_or_attestation_is_warned() -> None:
    told = weighed(**{"Signed by": "", "Attested": "no"}).warnings
    assert any("no signature" in one for one in told)
    assert any("not attested" in one for one in told)
    told = weighed(**{"Signed by": "A. Tester", "Attested": "yes"}).warnings
    assert not any("sign" in one or "attest" in one for one in told)
    assert not any("sign" in one for one in weighed().warnings)


def test_what_a_visit_saw_makes_another_report_and_an_empty_column_does_not() -> None:
    plain = report()
    assert report(**{"Relief valve seen running": ""}).digest() == plain.digest()
    assert report(**{"Relief valve seen running": "yes"}).digest() != plain.digest()
    assert report(**{"Service address": "1 Elm"}).digest() == plain.digest()


@pytest.mark.parametrize(
    ("classes", "kind", "covered"),
    [
        ("", AssemblyType.PVB, True),
        ("II", AssemblyType.PVB, True),
        ("RP, DC", AssemblyType.PVB, False),
        ("RP, DC", AssemblyType.RPDA, True),
        ("RP/PVB", AssemblyType.DC, False),
        ("all", AssemblyType.SVB, True),
    ],
)
def test_classes_that_name_types_cover_those_and_no_other(
    classes: str, kind: AssemblyType, covered: bool
) -> None:
    assert covers(classes, assembly_type=kind) is covered


def test_every_cause_but_another_reason_has_its_word_in_the_rulebook() -> None:
    assert {one for one in Cause if hindrance_of(one) is None} == {Cause.OTHER}
    assert {hindrance_of(one) for one in Cause} - {None} == set(Hindrance)


def test_a_hindered_visit_is_a_fact_of_its_own_only_where_it_counts() -> None:
    assert weighed(**NOTHING, Could_not_be_tested="submerged").fact is None
    assert FactKind.UNTESTABLE.value == "untestable"
