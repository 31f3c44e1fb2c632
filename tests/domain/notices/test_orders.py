"""When no order to shut off water may be prepared."""

from __future__ import annotations

from dataclasses import replace

import pytest

from notices.domain.kinds import FireLine
from notices.domain.orders import Premise, fire_line_of, why_held

PLAIN = Premise(fire=FireLine.NONE, fire_answer="", has_medical_supply=False, medical_consent="")


def test_a_plain_domestic_service_is_not_held() -> None:
    assert why_held(PLAIN) == ""


def test_a_dedicated_fire_line_is_held_whatever_is_recorded() -> None:
    # Hernando County FL 28-173: a dedicated fire line is not shut off but reported.
    held = replace(PLAIN, fire=FireLine.DEDICATED, fire_answer="yes, shut it")
    assert "fire line" in why_held(held)


def test_a_combined_service_is_held_until_the_fire_departments_answer_is_recorded() -> None:
    assert why_held(replace(PLAIN, fire=FireLine.COMBINED))
    assert not why_held(replace(PLAIN, fire=FireLine.COMBINED, fire_answer="J. Birch, Nov 3"))


def test_a_flagged_medical_supply_is_held_until_consent_is_recorded() -> None:
    assert why_held(replace(PLAIN, has_medical_supply=True, medical_consent="  "))
    assert not why_held(replace(PLAIN, has_medical_supply=True, medical_consent="letter of Nov 3"))


@pytest.mark.parametrize(
    ("service", "type_", "combined", "expected"),
    [
        ("fire", "DC", False, FireLine.DEDICATED),
        ("", "DCDA", False, FireLine.DEDICATED),
        ("", "RPDA-II", False, FireLine.DEDICATED),
        ("domestic", "DCDA", False, FireLine.NONE),
        ("combined domestic and fire", "RP", False, FireLine.COMBINED),
        ("domestic", "RP", True, FireLine.COMBINED),
        ("irrigation", "PVB", True, FireLine.NONE),
        ("", "RP", False, FireLine.NONE),
    ],
)
def test_what_a_shutoff_would_take_of_the_fire_protection(
    service: str, type_: str, combined: bool, expected: FireLine
) -> None:
    found = fire_line_of(service=service, type_=type_, has_combined_fire=combined)
    assert found is expected
