"""What readings point to: the published lines, each with its source, and none beyond them."""

from __future__ import annotations

from pathlib import Path

import pytest

from registry.domain.kinds import AssemblyType
from reports.domain.causes import (
    Causes,
    CausesError,
    Shown,
    Trust,
    causes_plain,
    likely_causes,
    read_causes,
    symptoms_of,
)

PATH = Path(__file__).resolve().parents[3] / "fixtures" / "causes.toml"
ARTICLE = 'Tester-association article "How does the RP work"'


@pytest.fixture(scope="module")
def causes() -> Causes:
    return read_causes(PATH.read_text(encoding="utf-8"))


def keys(causes: Causes, type_: AssemblyType, *seen: Shown, unit: str = "psid") -> list[str]:
    called = likely_causes(causes, type_=type_, unit=unit, criteria=seen, falling=["check1"])
    return [one.key for one in called]


def shown(name: str, reading: str, met: bool | None) -> Shown:
    return Shown(name=name, reading=reading, met=met)


def test_a_relief_valve_that_opens_low_points_to_its_stem_rarely_its_spring(
    causes: Causes,
) -> None:
    # Tester-association article, part 4, whose example opens at 1.5 and fails.
    (line,) = likely_causes(
        causes, type_=AssemblyType.RP, unit="psid", criteria=[shown("relief", "1.5", met=False)]
    )
    assert line.words == (
        "Points to a restricted stem or guide, scale or corrosion; rarely the spring."
    )
    assert line.cite == f"{ARTICLE}, part 4 [read]"


def test_a_relief_valve_that_opens_above_five_is_told_though_it_passes(causes: Causes) -> None:
    # The same article: above 5.0. 5.0 itself is not above; 34.5 kPa is 5.004 psi, 34.4 is 4.989.
    rp = AssemblyType.RP
    assert keys(causes, rp, shown("relief", "5.1", met=True)) == ["relief-high"]
    assert keys(causes, rp, shown("relief", "5.0", met=True)) == []
    assert keys(causes, rp, shown("relief", "34.5", met=True), unit="kPa") == ["relief-high"]
    assert keys(causes, rp, shown("relief", "34.4", met=True), unit="kPa") == []


@pytest.mark.parametrize(
    ("type_", "name", "reading", "key"),
    [
        # Article, part 7, on the PVB; trade articles on checks below 1.0; debris: common practice.
        (AssemblyType.PVB, "check", "0.4", "pvb-check-low"),
        (AssemblyType.PVB, "air_inlet", "did not open", "pvb-inlet"),
        (AssemblyType.PVB, "air_inlet_full", "no", "pvb-inlet"),
        (AssemblyType.DC, "check2", "leaked", "check-low"),
        (AssemblyType.SVB, "check", "0.9", "check-low"),
        (AssemblyType.DCDA, "bypass_check1", "0.2", "check-low"),
        (AssemblyType.DCDA_II, "bypass_check1", "0.2", "check-low"),
        (AssemblyType.RP, "check2_tight", "no", "debris"),
        (AssemblyType.RPDA, "bypass_relief", "1.0", "relief-low"),
    ],
)
def test_each_failing_reading_has_its_line(
    causes: Causes, type_: AssemblyType, name: str, reading: str, key: str
) -> None:
    assert keys(causes, type_, shown(name, reading, met=False)) == [key]


def test_a_reading_that_meets_its_limit_calls_for_nothing(causes: Causes) -> None:
    assert keys(causes, AssemblyType.DC, shown("check2", "1.0", met=True)) == []
    assert keys(causes, AssemblyType.DC, shown("check2", "", met=None)) == []


def test_a_check_that_falls_year_on_year_is_told_though_it_passes(causes: Causes) -> None:
    # Article, part 5.
    rp, svb = AssemblyType.RP, AssemblyType.SVB
    assert keys(causes, rp, shown("check1", "5.6", met=True)) == ["check1-falling"]
    assert keys(causes, svb, shown("check1", "5.6", met=True)) == []


def test_symptoms_belong_to_types_with_a_relief_valve(causes: Causes) -> None:
    assert len(symptoms_of(causes, type_=AssemblyType.RPDA)) == 5
    assert symptoms_of(causes, type_=AssemblyType.DC) == ()
    assert symptoms_of(causes, type_=AssemblyType.AVB) == ()


def test_every_line_names_its_source_and_how_far_to_trust_it(causes: Causes) -> None:
    for line in causes.lines:
        assert line.source
        assert line.mark in Trust
        if line.mark is Trust.MEMORY:
            assert line.cite == "From memory"


def test_a_page_that_judges_as_one_types_gets_the_same_lines(causes: Causes) -> None:
    plain = causes_plain(causes, type_=AssemblyType.RPDA_II)
    low = [(one["reading"], one["key"]) for one in plain if one["when"] == "below limit"]
    assert ("relief", "relief-low") in low
    assert ("bypass_check1", "check-low") in low
    assert ("bypass_relief", "relief-low") not in low


@pytest.mark.parametrize("text", ["[[reading", "caution = 'x'", 'caution="x"\nreading=[{}]'])
def test_a_file_that_cannot_be_used_says_so(text: str) -> None:
    with pytest.raises(CausesError):
        read_causes(text)
