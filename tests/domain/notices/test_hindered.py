"""A letter after a visit that found no test names the valve that must hold first.

EPA 816-R-03-002, chapter 5: shutoff valve 2 must hold, or no flow be shown, before readings count.
"""

from __future__ import annotations

import json
from datetime import date

import pytest

from notices.catalogues import words_in
from notices.domain.composing import compose
from tests.domain.notices.letters import brief, item

DAY = date(2025, 10, 20)
FAILED = {"failed_on": DAY, "cure_by": date(2025, 11, 19), "untested_on": DAY}


def said(kind: str, *items: object, language: str = "en") -> str:
    content = compose(brief(kind, *items), words=words_in(language))  # type: ignore[arg-type]
    return json.dumps(content.to_plain(), ensure_ascii=False).replace("\u00a0", " ")


def test_a_leaking_valve_is_named_with_what_it_must_do() -> None:
    text = said("repair", item(serial="C4-77120", valve="shutoff valve 2", **FAILED))
    assert "It could not be tested on the day shown, which counts as failed." in text
    assert "did not meet the limits" not in text
    assert "C4-77120: shutoff valve 2 lets water through." in text
    assert "It must hold before a test can count." in text


def test_a_valve_that_does_not_close_is_named_in_a_later_letter_too() -> None:
    text = said("first-overdue", item(serial="A1", untested_on=DAY, valve="shutoff valve"))
    assert "A1: a shutoff valve does not close." in text


def test_a_failed_test_is_still_told_as_one() -> None:
    text = said("repair", item(**{**FAILED, "untested_on": None}))
    assert "did not meet the limits" in text
    assert "valve" not in text.replace("valves", "")


def test_both_together_say_both() -> None:
    text = said("repair", item(**FAILED), item(serial="B2", **{**FAILED, "untested_on": None}))
    assert "Each did not meet the limits or could not be tested on the day shown." in text


@pytest.mark.parametrize("valve", ["shutoff valve 2", "shutoff valve"])
def test_the_sentences_stand_in_spanish(valve: str) -> None:
    # Our Spanish, not reviewed by a native speaker.
    text = said("repair", item(valve=valve, **FAILED), language="es")
    assert "No pudo probarse el día indicado" in text
    assert "válvula de cierre" in text
