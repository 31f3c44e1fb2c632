"""A shutoff told in its evidence file: off, what brought it back, on again, though all in a day."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from notices.actions.shutoffs import Shown, bring_back
from notices.actions.work_orders import CrewReport, order_work_off, record_done
from notices.domain.shutoffs import Proof
from registry.changes import Hand
from registry.models import Premises
from reports.domain.evidence import Story
from reports.evidence.telling import Case, story_of
from scheduling.models import Obligation
from tests.notices.shutoff_cases import ORDERED, TUESDAY, day, prepared, signed

pytestmark = pytest.mark.django_db
AT = datetime(2026, 2, 17, 20, tzinfo=ZoneInfo("America/Los_Angeles"))
"""In the evening: by the clock of Greenwich it is Wednesday already."""

HAND = Hand(by="A. Clerk", at=AT)


@pytest.fixture
def story() -> Story:
    """Water off and on again on one day, by a decision of who signed the order."""
    shutoff = signed(prepared())
    (off,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=HAND)
    crew = CrewReport(on=TUESDAY, at=None, by="B. Birch", reading="", words="")
    record_done(off, report=crew, day=day(shutoff.program, TUESDAY), hand=HAND)
    shown = Shown(proof=Proof.DECISION, on=TUESDAY, words="The order was a mistake.")
    assert shutoff.order is not None
    user = shutoff.order.signature.user
    (back,) = bring_back(shutoff, shown=shown, user=user, today=TUESDAY, hand=HAND)
    record_done(back, report=crew, day=day(shutoff.program, TUESDAY), hand=HAND)
    return story_of(Case(premises=Premises.objects.get()), as_of=date(2026, 3, 1), hand=HAND)


def test_water_goes_off_before_it_is_ordered_back_and_is_on_before_it_ended(story: Story) -> None:
    whats = [event.what for event in story.events]
    on_the_way = (
        "Work order 1 (water off, domestic) was made",
        "Work order 1 (water off, domestic) was carried out",
        "Water was ordered back: the office decided so. The order was a mistake.",
        "Work order 2 (water back, domestic) was made",
        "Work order 2 (water back, domestic) was carried out",
        "The shutoff ended.",
    )
    places = [
        next(n for n, what in enumerate(whats) if what.startswith(start)) for start in on_the_way
    ]
    assert places == sorted(places)
    assert {story.events[place].on for place in places} == {TUESDAY}


def test_letters_bear_their_titles_and_duties_their_citation(story: Story) -> None:
    whats = " ".join(event.what for event in story.events)
    assert "(final notice) left" in whats
    assert "(second overdue notice) left" in whats
    assert [thing[2].replace("\u00a0", " ") for thing in story.things] == ["1½ in"]
    (duty,) = Obligation.objects.filter(closed_on__isnull=True)
    came = next(event for event in story.events if "came to be owed" in event.what)
    assert came.ground == duty.detail["citation"]
    assert came.ground != duty.rule
