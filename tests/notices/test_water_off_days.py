"""Water shut off on another day than the crew was sent for is asked about, and kept as it was."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from notices.actions.work_orders import order_work_off, record_done
from notices.domain.shutoffs import why_wrong_day
from registry.models import Question
from tests.notices.shutoff_cases import CLERK, ORDERED, TUESDAY, day, prepared, signed
from tests.notices.test_shutoffs import CREW, fresh

MONDAY = TUESDAY - timedelta(days=1)
"""16 February 2026, the third Monday: Washington's birthday, 5 U.S.C. 6103(a)."""


@pytest.mark.parametrize(
    ("done_on", "wrong"),
    [
        (TUESDAY, ""),
        (date(2026, 2, 18), ""),  # a day later: the crew could not come before
        (date(2026, 2, 19), ""),
        (date(2026, 2, 20), "on the eve of a closed day"),  # a Friday
        (date(2026, 2, 21), "on a closed day"),
        (MONDAY, "before February 17, 2026, the day the crew was sent for and on a closed day"),
        (
            date(2026, 2, 12),
            "before February 17, 2026, the day the crew was sent for",
        ),  # a Thursday: Friday is a day of work
    ],
)
def test_what_is_wrong_with_a_day(done_on: date, wrong: str) -> None:
    said = why_wrong_day(done_on, named=TUESDAY, holidays={MONDAY})
    assert said.replace("\u00a0", " ") == wrong


@pytest.mark.django_db
def test_water_off_before_its_day_is_kept_and_asked_about() -> None:
    shutoff = signed(prepared())
    (work,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    report = replace(CREW, on=ORDERED)
    record_done(work, report=report, day=day(shutoff.program, TUESDAY), hand=CLERK)
    work.refresh_from_db()
    assert (work.state, work.done_on, fresh(shutoff).state) == ("done", ORDERED, "off")
    asked = Question.objects.get(kind="water off")
    assert (asked.premises_id, asked.raised_on) == (shutoff.premises_id, TUESDAY)
    words = asked.text.replace("\u00a0", " ")
    assert "before February 17, 2026, the day the crew was sent for" in words


@pytest.mark.django_db
def test_water_off_on_its_day_asks_nothing() -> None:
    shutoff = signed(prepared())
    (work,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    record_done(work, report=CREW, day=day(shutoff.program, TUESDAY), hand=CLERK)
    assert not Question.objects.filter(kind="water off").exists()
