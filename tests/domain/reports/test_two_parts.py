"""As found, repaired, final: what the two parts of a report make together."""

from __future__ import annotations

from collections.abc import Mapping

from registry.domain.kinds import AssemblyType
from reports.domain.readings import Reading, ReadingName, Unit, read_cell
from reports.domain.two_parts import BothParts, judge_parts
from scheduling.domain.facts import FactKind
from tests.domain.reports.cases import limits

R = ReadingName
TWINS = frozenset({R.RELIEF, R.CHECK1, R.CHECK2, R.CHECK2_TIGHT})
GOOD_RP = {"relief": "2.5", "check1": "8.0", "check2_tight": "yes"}
BAD_RP = {**GOOD_RP, "relief": "1.5"}
GOOD_BYPASS = {f"bypass_{name}": text for name, text in GOOD_RP.items()}


def readings(cells: Mapping[str, str]) -> dict[ReadingName, Reading]:
    return {
        R(name): read_cell(name=R(name), column=name, text=text).reading
        for name, text in cells.items()
    }


def both(
    kind: str,
    *,
    initial: Mapping[str, str],
    final: Mapping[str, str] | None = None,
    twins: frozenset[ReadingName] = TWINS,
    repaired: bool = False,
) -> BothParts:
    return judge_parts(
        limits("usc10"),
        assembly_type=AssemblyType(kind),
        unit=Unit.PSID,
        initial=readings(initial),
        final=readings(final or {}),
        twins=twins,
        repaired=repaired,
    )


def test_a_report_without_repair_has_one_part_that_decides() -> None:
    found = both("RP", initial=GOOD_RP)
    assert found.final is None
    assert (found.outcome, found.fact) == ("pass", FactKind.PASSED)
    found = both("RP", initial=BAD_RP)
    assert (found.outcome, found.fact) == ("fail", FactKind.FAILED)


def test_a_failure_repaired_and_passed_is_one_passed_fact_that_was_found_failing() -> None:
    found = both("RP", initial=BAD_RP, final=GOOD_RP, repaired=True)
    assert (found.initial.outcome, found.outcome) == ("fail", "pass")
    assert found.fact is FactKind.PASSED
    assert found.found_failed


def test_a_failure_whose_final_part_is_incomplete_is_a_failed_fact() -> None:
    found = both("RP", initial=BAD_RP, final={"relief": "2.5"}, repaired=True)
    assert (found.outcome, found.fact) == ("incomplete", FactKind.FAILED)
    found = both("RP", initial=BAD_RP, repaired=True)
    assert (found.outcome, found.fact) == ("incomplete", FactKind.FAILED)


def test_an_incomplete_part_alone_is_no_fact() -> None:
    assert both("RP", initial={"relief": "2.5"}).fact is None
    assert both("RP", initial={}).fact is None
    found = both("RP", initial=GOOD_RP, final={"check1": "8.0"}, repaired=True)
    assert (found.outcome, found.fact) == ("incomplete", None)


def test_a_final_part_that_fails_is_a_failed_fact_whatever_was_found() -> None:
    for initial in (GOOD_RP, BAD_RP, {}):
        assert both("RP", initial=initial, final=BAD_RP).fact is FactKind.FAILED


# From memory: after a repair every reading of the body that was opened is taken again.
def test_after_a_repair_every_reading_of_the_opened_body_is_asked_for_again() -> None:
    for left_out in GOOD_RP:
        final = {name: text for name, text in GOOD_RP.items() if name != left_out}
        assert both("RP", initial=BAD_RP, final=final).outcome == "incomplete"


def test_a_body_left_shut_keeps_its_readings_and_the_opened_one_does_not() -> None:
    twins = TWINS | {R(f"bypass_{name}") for name in TWINS}
    initial = {**BAD_RP, **GOOD_BYPASS}
    found = both("RPDA", initial=initial, final=GOOD_RP, twins=twins, repaired=True)
    assert found.outcome == "pass"
    initial = {**GOOD_RP, **GOOD_BYPASS, "bypass_relief": "1.0"}
    found = both("RPDA", initial=initial, final=GOOD_BYPASS, twins=twins, repaired=True)
    assert found.outcome == "pass"
    found = both("RPDA", initial=initial, final=GOOD_RP, twins=twins, repaired=True)
    assert found.outcome == "fail"
    found = both("RPDA", initial=initial, final={"bypass_relief": "2.5"}, twins=twins)
    assert found.outcome == "incomplete"


def test_a_reading_without_a_column_after_repair_serves_both_parts() -> None:
    initial = {**BAD_RP, **GOOD_BYPASS}
    assert both("RPDA", initial=initial, final=GOOD_RP, repaired=True).outcome == "pass"
    inlet = {"air_inlet": "0.6", "air_inlet_full": "yes", "check": "1.3"}
    final = {"air_inlet": "1.8", "check": "1.7"}
    twins = frozenset({R.AIR_INLET, R.CHECK})
    assert both("PVB", initial=inlet, final=final, twins=twins).outcome == "pass"
    stuck = {**inlet, "air_inlet_full": "no"}
    assert both("PVB", initial=stuck, final=final, twins=twins).outcome == "fail"


def test_a_repair_told_in_a_sheet_without_final_columns_leaves_the_one_part() -> None:
    found = both("RP", initial=GOOD_RP, twins=frozenset(), repaired=True)
    assert found.final is None
    assert found.fact is FactKind.PASSED


def test_a_leaking_shutoff_valve_counts_for_both_parts_until_it_is_looked_at_again() -> None:
    leaking = {**BAD_RP, "shutoff2_tight": "no"}
    assert both("RP", initial=leaking, final=GOOD_RP).outcome == "incomplete"
    twins = TWINS | {R.SHUTOFF2_TIGHT}
    final = {**GOOD_RP, "shutoff2_tight": "yes"}
    assert both("RP", initial=leaking, final=final, twins=twins).outcome == "pass"
    assert both("RP", initial=leaking, final=GOOD_RP, twins=twins).outcome == "incomplete"
