"""Every published limit and worked example, with its source beside the check."""

from __future__ import annotations

import re

import pytest

from reports.domain.limits import Criterion, Rule
from tests.domain.reports.cases import (
    EVERY_METHOD,
    FIXTURES,
    METHODS,
    criterion,
    limits,
    outcome,
    verdict,
)

# Derived from the published limits: 9th-edition buffer, USC Foundation "Cross Talk", April 1996;
# 10th-edition change, Washington Department of Health transition page; City of Iowa City
# backflow test record, rev. 9/02.
VECTORS = [
    ("2.0", "5.0", "1.0", "pass", "pass", "pass"),
    ("1.9", "6.0", "1.2", "fail", "fail", "fail"),
    ("2.4", "5.0", "1.2", "fail", "pass", "fail"),
    ("2.1", "5.1", "1.2", "pass", "pass", "pass"),
    ("5.2", "5.2", "1.2", "fail", "fail", "fail"),
    ("5.2", "5.3", "1.2", "fail", "pass", "fail"),
    ("3.0", "8.0", "leaked", "fail", "fail", "fail"),
    ("2.4", "7.2", "0.9", "pass", "pass", "fail"),
]


@pytest.mark.parametrize(("relief", "check1", "check2", "ninth", "tenth", "iowa"), VECTORS)
def test_the_published_limits_judge_an_rp_as_they_say(
    relief: str, check1: str, check2: str, ninth: str, tenth: str, iowa: str
) -> None:
    tight = {} if check2 == "leaked" else {"check2_tight": "yes"}
    found = [
        outcome(method, "RP", relief=relief, check1=check1, check2=check2, **tight)
        for method in METHODS
    ]
    assert found == [ninth, tenth, iowa]


# City of Iowa City backflow test record, rev. 9/02: CV1 >= 5.0, RV >= 2.0, CV1 - RV >= 3.0,
# CV2 >= 1.0 in direction of flow and holds against back-pressure.
@pytest.mark.parametrize(
    ("cells", "name"),
    [
        ({"check1": "4.9"}, "check1"),
        ({"relief": "1.9"}, "relief"),
        ({"relief": "2.9", "check1": "5.8"}, "check1_minus_relief"),
        ({"check2": "0.9"}, "check2"),
        ({"check2_tight": "no"}, "check2_tight"),
    ],
)
def test_iowa_city_fails_an_rp_on_each_of_its_five_items(cells: dict[str, str], name: str) -> None:
    good = {"relief": "2.0", "check1": "5.0", "check2": "1.0", "check2_tight": "yes"}
    assert outcome("iowa-city", "RP", **good) == "pass"
    found = verdict("iowa-city", "RP", **{**good, **cells})
    assert found.outcome == "fail"
    assert criterion(found, name).met is False


# The same record: each check of a DC >= 1.0, its back-pressure part optional; PVB and SVB air
# inlet and check >= 1.0; an SVB's inlet fully open when supply is at atmospheric. The same
# figures for the USC manual are from memory.
@pytest.mark.parametrize("method", METHODS)
def test_one_psid_is_enough_for_a_check_and_an_air_inlet_and_a_tenth_less_is_not(
    method: str,
) -> None:
    assert outcome(method, "DC", check1="1.0", check2="1.0") == "pass"
    assert outcome(method, "DC", check1="0.9", check2="1.0") == "fail"
    assert outcome(method, "DC", check1="1.0", check2="0.9") == "fail"
    for kind in ("PVB", "SVB"):
        good = {"air_inlet": "1.0", "air_inlet_full": "yes", "check": "1.0"}
        assert outcome(method, kind, **good) == "pass"
        assert outcome(method, kind, **{**good, "air_inlet": "0.9"}) == "fail"
        assert outcome(method, kind, **{**good, "check": "0.9"}) == "fail"
        assert outcome(method, kind, **{**good, "air_inlet_full": "no"}) == "fail"


def test_only_iowa_city_asks_whether_the_air_inlet_of_an_svb_opened_fully() -> None:
    cells = {"air_inlet": "1.0", "check": "1.0"}
    assert outcome("iowa-city", "SVB", **cells) == "incomplete"
    assert outcome("iowa-city", "PVB", **cells) == "pass"
    assert outcome("usc9", "SVB", **cells) == "pass"
    assert outcome("usc10", "SVB", **cells) == "pass"


# Tester-association article "How does the RP work", part 4: relief valve opens at 1.5, it fails.
@pytest.mark.parametrize("method", METHODS)
def test_a_relief_valve_that_opens_at_one_and_a_half_fails(method: str) -> None:
    cells = {"check1": "8.0", "check2": "1.2", "check2_tight": "yes"}
    assert outcome(method, "RP", relief="1.5", **cells) == "fail"


# The same article, part 5: inlet 100, zone 98, relief set 2.1: 98 + 2.1 > 100, it discharges:
# check 1 holds 2.0, less than the relief's opening.
def test_a_zone_within_the_relief_setting_of_the_inlet_fails_and_shows_a_negative_buffer() -> None:
    found = verdict("usc9", "RP", relief="2.1", check1="2", check2_tight="yes")
    assert found.outcome == "fail"
    assert str(criterion(found, "check1_minus_relief").reading) == "-0.1"
    found = verdict("usc10", "RP", relief="2.1", check1="2", check2_tight="yes")
    assert criterion(found, "check1_above_relief").met is False


# Worked example in print: supply 60, zone 55, relief 2: buffer 3.0, relief opens at 57.
def test_the_worked_buffer_of_sixty_fifty_five_and_two_is_three() -> None:
    found = verdict("usc9", "RP", relief="2", check1="5", check2_tight="yes")
    assert criterion(found, "check1_minus_relief").reading == 60 - 55 - 2
    assert found.outcome == "pass"


# Worked example in print: a check at 0.8 psid (5.5 kPa) fails.
@pytest.mark.parametrize("method", METHODS)
def test_a_check_at_eight_tenths_fails_in_either_unit(method: str) -> None:
    assert outcome(method, "DC", check1="0.8", check2="2.0") == "fail"
    assert outcome(method, "DC", unit="kPa", check1="5.5", check2="14") == "fail"


# Nebraska approved procedures, 2005: a DC gauge that settles at 0.0 shows a leaking check.
@pytest.mark.parametrize("method", METHODS)
def test_a_gauge_that_settles_at_zero_fails_the_check(method: str) -> None:
    assert outcome(method, "DC", check1="0.0", check2="2.0") == "fail"


# Every limit in print is inclusive but one: 10th edition, check 1 strictly above relief
# (Washington Department of Health, transition page).
def test_only_check_one_above_relief_is_strict() -> None:
    cells = {"check2_tight": "yes"}
    assert outcome("usc10", "RP", relief="5.0", check1="5.0", **cells) == "fail"
    assert outcome("usc10", "RP", relief="5.0", check1="5.01", **cells) == "pass"


def test_every_shipped_figure_carries_a_source_and_says_how_it_is_known() -> None:
    for method in EVERY_METHOD:
        shipped = limits(method)
        assert shipped.name == method
        assert "verify against the current text" in shipped.caution
        for item in shipped.criteria:
            assert item.citation
            assert item.source.endswith(("[read]", "[from memory]"))


def test_the_page_about_field_tests_prints_the_shipped_limits() -> None:
    page = (FIXTURES.parents[1] / "docs" / "field-tests.md").read_text(encoding="utf-8")
    lines = re.findall(r"^\| ([\w ]+?) `(\w+)` \| (.+) \|$", page, re.MULTILINE)
    printed = {
        (method, family, name): word
        for family, name, words in lines
        for method, word in zip(EVERY_METHOD, words.split(" | "), strict=True)
        if word != "–"
    }
    shipped = {
        (method, item.family.value, item.name): _word(item)
        for method in EVERY_METHOD
        for item in limits(method).criteria
    }
    assert printed == shipped


def _word(item: Criterion) -> str:
    if item.rule is Rule.ABOVE_OTHER:
        return "strictly"
    if item.rule is Rule.YES:
        return "yes" if item.required else "where recorded"
    return "recorded" if item.rule is Rule.RECORDED else str(item.limit)


RP = {"relief": "2.0", "check1": "5.0", "check2_tight": "yes"}


# AWWA M14-style table B-2: RV >= 2.0, CV1 >= 5.0, CV2 holds tight; DC >= 1 each; main and bypass
# of a detector pass, and the bypass meter registers.
# EPA 816-R-03-002, ch. 5: RV opens >= 2 below the inlet, CV1 >= 5 and tight, CV2 tight; DC >= 1.
@pytest.mark.parametrize("method", ["m14-b2", "epa"])
def test_table_b2_and_the_epa_manual_ask_two_five_and_tight_of_an_rp(method: str) -> None:
    assert outcome(method, "RP", **RP) == "pass"
    assert outcome(method, "RP", **{**RP, "relief": "1.9"}) == "fail"
    assert outcome(method, "RP", **{**RP, "check1": "4.9"}) == "fail"
    assert outcome(method, "RP", **{**RP, "check2_tight": "no"}) == "fail"
    assert outcome(method, "RP", **{**RP, "relief": "4.0"}) == "pass"  # no buffer is asked for
    assert outcome(method, "DC", check1="1", check2="1") == "pass"
    assert outcome(method, "DC", check1="0.9", check2="1") == "fail"


# City of Toronto test record: RV >= 2, CV1 recorded, CV1 - RV >= 3, CV2 closed tight; DC >= 1.
def test_the_toronto_record_asks_a_buffer_and_only_writes_down_check_one() -> None:
    assert outcome("toronto", "RP", **RP) == "pass"
    assert outcome("toronto", "RP", **{**RP, "relief": "2.1"}) == "fail"
    found = verdict("toronto", "RP", **{**RP, "check1": "5.1", "relief": "2.1"})
    assert found.outcome == "pass"
    assert criterion(found, "check1").met is None
    assert outcome("toronto", "RP", relief="2.0", check2_tight="yes") == "incomplete"
    assert outcome("toronto", "DC", check1="1", check2="0.9") == "fail"


def test_a_record_without_limits_judges_nothing_rather_than_passing_it() -> None:
    found = verdict("toronto", "PVB", air_inlet="0.1", check="0.1")
    assert (found.outcome, found.criteria) == ("refused", ())
    assert "gives no limit" in found.reasons[0]
    for method, kind in (("m14-b2", "PVB"), ("m14-b2", "SVB"), ("epa", "SVB"), ("toronto", "SVB")):
        assert outcome(method, kind, air_inlet="2.0", check="2.0") == "refused"


# Table B-2: main and bypass must pass and the meter must register; under the USC manual a still
# meter is repaired and is no criterion (from memory).
@pytest.mark.parametrize(
    ("method", "moved", "expected"),
    [
        ("m14-b2", "yes", "pass"),
        ("m14-b2", "no", "fail"),
        ("m14-b2", "", "incomplete"),
        ("usc10", "no", "pass"),
        ("usc10", "", "pass"),
    ],
)
def test_a_still_bypass_meter_fails_a_detector_only_by_table_b2(
    method: str, moved: str, expected: str
) -> None:
    cells = {"check1": "1", "check2": "1", "bypass_check1": "1", "bypass_check2": "1"}
    found = verdict(method, "DCDA", **cells, meter_moved=moved)
    assert found.outcome == expected
    assert any("meter" in one for one in found.warnings) == (method == "usc10")


# A type II detector's bypass has one check (from memory); no second one is asked for.
def test_a_type_two_bypass_is_asked_for_one_check() -> None:
    cells = {"check1": "1", "check2": "1", "meter_moved": "yes"}
    for method in EVERY_METHOD:
        assert outcome(method, "DCDA-II", **cells, bypass_check1="1.0") == "pass"
        assert outcome(method, "DCDA-II", **cells, bypass_check1="0.9") == "fail"
        assert outcome(method, "DCDA-II", **cells) == "incomplete"


# USC manual: relief, check 2, check 1 (from memory, and a gauge maker's manual); City of Iowa
# City test record: check 1, relief, check 2.
def test_the_order_of_the_steps_is_part_of_the_method() -> None:
    order = {
        method: [
            str(name) for one in limits(method).steps if one.family == "RP" for name in one.readings
        ]
        for method in EVERY_METHOD
    }
    assert order["usc9"] == order["usc10"] == ["relief", "check2_tight", "check1"]
    assert order["iowa-city"][:3] == ["check1", "relief", "check2"]
    for method in EVERY_METHOD:
        judged = {one.family for one in limits(method).criteria} - {"single check", "detector"}
        assert {one.family for one in limits(method).steps} == judged
        assert all(one.citation and one.mark for one in limits(method).steps)


# USC Foundation "Cross Talk", 2001: check 1 of a DC below 1.0 with shutoff valve 1 leaking asks
# for repair before check 2 is tested; a PVB likewise (from memory).
@pytest.mark.parametrize(
    ("kind", "cells", "says"),
    [
        ("DC", {"check1": "0.9", "check2": "1.5"}, "repair the valve first"),
        ("DC", {"check1": "6.8", "check2": "10", "unit": "kPa"}, "repair the valve first"),
        ("DC", {"check1": "1.0", "check2": "0.5"}, "it is to be repaired"),
        ("PVB", {"air_inlet": "1.5", "check": "leaked"}, "repair the valve first"),
    ],
)
def test_a_leaking_first_shutoff_valve_beside_a_low_check_says_repair_first(
    kind: str, cells: dict[str, str], says: str
) -> None:
    found = verdict("usc10", kind, **cells, shutoff1_tight="no")
    assert any(says in one for one in found.warnings)
    assert not any("valve 1 leaks" in one for one in verdict("usc10", kind, **cells).warnings)
