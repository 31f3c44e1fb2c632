"""A target from levelling moves courtesy letters, and nothing else of the ladder."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from notices.actions.day import run_day
from notices.models import Notice
from registry.changes import Hand
from scheduling.actions.levelling import Wish, apply_level, propose_level, undo_level
from scheduling.domain.level_periods import Capacity, Per
from scheduling.models import LevelDecision, Obligation
from tests.notices.offices import assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 1, 5, 20, tzinfo=UTC)
HAND = Hand(by="a test", at=NOW)
TODAY = date(2026, 1, 5)


def letters_of(*, target_on: date | None) -> list[tuple[str, date | None]]:
    """The rungs that leave in the year of one test due 2026-06-26, and their days."""
    program = office()
    one = assembly(premises(program, of=owner(program)), facts=[("passed", date(2025, 6, 26))])
    Obligation.objects.filter(assembly=one, closed_on__isnull=True).update(target_on=target_on)
    day = date(2026, 4, 20)
    while day <= date(2026, 6, 28):
        run_day(program=program, as_of=day, now=NOW)
        day += timedelta(days=1)
    notices = Notice.objects.filter(assembly=one).order_by("left_on", "pk")
    return [(notice.rung, notice.left_on) for notice in notices]


@pytest.mark.slow
def test_courtesy_letters_count_from_the_target_and_the_law_s_from_the_due_date() -> None:
    # plain-rolling: opens 60 days before, reminders 45 and 15 days before, overdue the day after.
    assert letters_of(target_on=None)[:3] == [
        ("reminder", date(2026, 5, 12)),
        ("second-reminder", date(2026, 6, 11)),
        ("first-overdue", date(2026, 6, 27)),
    ]


@pytest.mark.slow
def test_a_target_three_weeks_earlier_brings_both_reminders_forward() -> None:
    # 45 days before June 5 is April 21, before it opens on April 27: it goes that day.
    assert letters_of(target_on=date(2026, 6, 5))[:3] == [
        ("reminder", date(2026, 4, 27)),
        ("second-reminder", date(2026, 5, 21)),
        ("first-overdue", date(2026, 6, 27)),
    ]


def test_an_open_obligation_is_looked_at_again_when_it_is_aimed_and_when_that_is_undone() -> None:
    program = office()
    for number in range(3):
        place = premises(program, number, of=owner(program, f"Owner {number}"))
        assembly(place, f"S{number}", facts=[("passed", date(2025, 2, 27))])
    run_day(program=program, as_of=TODAY, now=NOW)
    wish = Wish(
        capacity=Capacity(number=1, per=Per.WEEK), first=TODAY, last=TODAY + timedelta(days=90)
    )
    proposal = propose_level(program=program, wish=wish)
    apply_level(program=program, proposal=proposal, hand=HAND)
    moved = [move.row.pk for move in proposal.moved]
    assert moved
    looked_at = Obligation.objects.filter(pk__in=moved, next_action_on__lte=TODAY)
    assert looked_at.count() == len(moved)
    undo_level(decision=LevelDecision.objects.get(), today=TODAY, hand=HAND)
    run_day(program=program, as_of=TODAY + timedelta(days=1), now=NOW + timedelta(days=1))
