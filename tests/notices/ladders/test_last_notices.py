"""What a last notice must say, read in the letters of every place; no order before its time.

*Memphis Light v. Craft* (1978), syllabus: the date, who may correct errors, how and by when to be
heard, how water comes back.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

import pytest

from notices.actions.clocks import Day
from notices.actions.living import live_to
from notices.delivery.receipts import record_delivered
from notices.models import Delivery, Letter
from registry.changes import Hand
from tests.notices.ladders.story import Story, said

pytestmark = pytest.mark.django_db

FROM_DUE = (
    *("oro-valley-az", "willcox-az", "placer-style", "kansas-city-mo", "sacramento-ca"),
    *("ennis-tx", "hernando-county-fl", "cross-valley-wa", "cave-creek-az"),
)
FROM_FAILURE = ("copper-mountain-co", "boulder-co", "lincoln-county-nc", "carthage-nc")
NOW = datetime(2026, 1, 5, 12, tzinfo=UTC)
DAY = r"([A-Z][a-z]+ \d{1,2}, \d{4})"


def lived(place: str) -> Story:
    """A trial of the place, lived until long after its order."""
    story = Story(place, is_trial=True, state="TX" if place == "ennis-tx" else "")
    one = story.stands("S1", ("passed", date(2025, 6, 15)))
    if place in FROM_FAILURE:
        story.told(one, "failed", date(2026, 4, 1))
    today = date(2026, 1, 5)
    for to in (date(2026, 7, 1), date(2026, 12, 31)):
        today = live_to(story.program, today=today, to=to, now=NOW).day
        if place == "ennis-tx" and to.month == 7:
            row = Delivery.objects.get(letter__program=story.program)
            at = datetime(2026, 7, 1, 12, tzinfo=UTC)
            day = Day(program=story.program, on=to, at=at)
            record_delivered(row, on=date(2026, 6, 19), day=day, hand=Hand(by="A. Clerk", at=at))
    return story


def day_of(text: str) -> date:
    return datetime.strptime(text, "%B %d, %Y").date()  # noqa: DTZ007 (a date has no zone)


@pytest.mark.parametrize("place", [*FROM_DUE, *FROM_FAILURE])
def test_a_last_notice_says_it_all_and_no_order_comes_before(place: str) -> None:
    story = lived(place)
    order = next(one for one in story.letters() if one.is_order)
    assert story.finals()
    for final in story.finals():
        text = said(final)
        off = re.search(f"Water may be shut off from {DAY} on, and not before", text)
        assert off, text
        assert day_of(off[1]) <= order.composed_on
        assert final.left_on is not None
        assert final.left_on < order.composed_on
        assert_heard_before(text, order=order)
        assert "We can correct an error in the record." in text
        assert "(555) 010-0142" in text
        assert "brings it back" in text or "Water comes back only with a test" in text


def assert_heard_before(text: str, *, order: Letter) -> None:
    """How to be heard, and by when: that time has closed when the order is prepared."""
    told = re.search(
        f"ask to be heard, in person or in writing, (before|(?:at least )?until the end of) {DAY}",
        text,
    )
    assert told, text
    last = day_of(told[2])
    assert last <= order.composed_on
    assert told[1] == "before" or last < order.composed_on


def test_every_place_of_the_table_is_read() -> None:
    assert len({*FROM_DUE, *FROM_FAILURE}) == 13
