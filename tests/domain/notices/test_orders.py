"""When no order to shut off water may be prepared."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from notices.domain.kinds import FireLine
from notices.domain.orders import Answer, Premise, fire_line_of, why_held
from notices.domain.shutoffs import AnswerSays

PLAIN = Premise(fire=FireLine.NONE)
DAY = date(2026, 11, 10)
MAY = Answer(says=AnswerSays.MAY, words="with an engine near", until=DAY)
STAYS = Answer(says=AnswerSays.STAYS, words="hose station inside")


def test_a_plain_domestic_service_is_not_held() -> None:
    assert why_held(PLAIN, today=DAY) == ""


def test_a_dedicated_fire_line_is_held_whatever_is_recorded() -> None:
    # Hernando County FL 28-173: a dedicated fire line is not shut off but reported.
    held = replace(PLAIN, fire=FireLine.DEDICATED, fire_answer=MAY)
    assert "fire line" in why_held(held, today=DAY)


def test_a_combined_service_is_held_until_the_fire_departments_answer_is_recorded() -> None:
    combined = replace(PLAIN, fire=FireLine.COMBINED)
    assert "Record the fire department" in why_held(combined, today=DAY)
    assert "to stay on" in why_held(replace(combined, fire_answer=STAYS), today=DAY)
    assert not why_held(replace(combined, fire_answer=MAY), today=DAY)


def test_an_answer_holds_on_its_last_day_and_not_after_it() -> None:
    combined = replace(PLAIN, fire=FireLine.COMBINED, fire_answer=MAY)
    assert not why_held(combined, today=DAY)
    assert "held until November\u00a010, 2026. Ask again." in why_held(
        combined, today=date(2026, 11, 11)
    )


def test_a_flagged_medical_supply_is_held_until_consent_is_recorded() -> None:
    flagged = replace(PLAIN, has_medical_supply=True)
    assert "Record the consent first" in why_held(flagged, today=DAY)
    assert "no consent was given" in why_held(replace(flagged, medical_consent=STAYS), today=DAY)
    assert not why_held(replace(flagged, medical_consent=MAY), today=DAY)


def test_an_objection_not_decided_holds_an_order() -> None:
    assert why_held(replace(PLAIN, open_objection="Decide it first."), today=DAY)


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
