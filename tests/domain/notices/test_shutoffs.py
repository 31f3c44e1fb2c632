"""On which days water goes off, and what brings it back."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import holidays
import pytest

from notices.domain.shutoffs import Proof, first_day_for, why_not_on, why_not_proof
from scheduling.closed_days import closed_days
from scheduling.domain.matching import Attributes
from scheduling.domain.rulebook import Topic
from tests.domain.scheduling.histories import book

WASHINGTON = closed_days("WA")
MONDAY = date(2026, 11, 23)


@pytest.mark.parametrize(
    ("day", "told"),
    [
        (date(2026, 11, 23), ""),
        (date(2026, 11, 24), ""),
        (date(2026, 11, 25), "eve of a closed day"),  # before Thanksgiving
        (date(2026, 11, 26), "closed"),  # Thanksgiving
        (date(2026, 11, 28), "closed"),  # Saturday
        (date(2026, 11, 29), "closed"),  # Sunday
        (date(2026, 12, 4), "eve of a closed day"),  # Friday
        (date(2026, 11, 20), "past"),
    ],
)
def test_no_water_goes_off_on_a_closed_day_or_the_eve_of_one(day: date, told: str) -> None:
    # Common practice: somebody must be there the next day to bring it back.
    why = why_not_on(day, today=MONDAY, holidays=WASHINGTON)
    assert (told in why) if told else why == ""


def test_every_day_allowed_in_ten_years_is_followed_by_a_day_of_work() -> None:
    # Against the library `holidays`, asked day by day.
    closed = holidays.country_holidays("US", subdiv="WA", years=range(2026, 2037))
    day, allowed = MONDAY, 0
    for _ in range(3650):
        nxt = day + timedelta(days=1)
        is_fine = all(one.weekday() < 5 and one not in closed for one in (day, nxt))
        assert (why_not_on(day, today=MONDAY, holidays=WASHINGTON) == "") is is_fine
        allowed += is_fine
        day = nxt
    assert allowed > 1800


def test_the_first_day_for_a_shutoff_passes_over_a_long_weekend() -> None:
    # Wednesday before Thanksgiving 2026, a Friday off in Washington: Monday the 30th.
    assert first_day_for(date(2026, 11, 25), holidays=WASHINGTON) == date(2026, 11, 30)


def test_only_what_the_rulebook_takes_brings_water_back() -> None:
    # Kansas City MO 78-299: restored only with a booked or current test.
    rule = book("places/kansas-city-mo").provision(topic=Topic.RESTORATION, attributes=Attributes())
    assert rule is not None
    common: dict[str, Any] = {"all_met": False, "is_emergency": False, "may_sign": False}
    booked = why_not_proof(Proof.BOOKED, accepted=rule.by, words="Firm A, 12 May", **common)
    assert booked == ""
    assert "takes no booked test" in why_not_proof(
        Proof.BOOKED, accepted=("passed test",), words="Firm A", **common
    )
    assert "Say what is there" in why_not_proof(
        Proof.BOOKED, accepted=rule.by, words="  ", **common
    )
    assert "still open" in why_not_proof(Proof.PASSED, accepted=rule.by, words="", **common)


def test_a_danger_is_gone_only_after_an_emergency_and_a_decision_needs_who_signs() -> None:
    common: dict[str, Any] = {"accepted": (), "all_met": False, "words": "seen by our inspector"}
    assert why_not_proof(Proof.HAZARD_GONE, is_emergency=False, may_sign=True, **common)
    assert not why_not_proof(Proof.HAZARD_GONE, is_emergency=True, may_sign=False, **common)
    assert why_not_proof(Proof.DECISION, is_emergency=False, may_sign=False, **common)
    assert not why_not_proof(Proof.DECISION, is_emergency=False, may_sign=True, **common)
