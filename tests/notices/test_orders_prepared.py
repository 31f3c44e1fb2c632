"""Orders are prepared at the end of the ladder, never sent, and not where one must not be."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from notices.actions.day import DayTally, run_day
from notices.models import Letter, Notice
from registry.models import Program, Question
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)


def run(program: Program, day: date) -> DayTally:
    return run_day(program=program, as_of=day, now=NOW)


@pytest.fixture
def program() -> Program:
    return office()


def to_the_end(program: Program) -> None:
    for offset in (0, 14, 29, 38, 39):
        run(program, START + timedelta(days=offset))


def test_an_order_is_prepared_and_waits_for_a_person(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    to_the_end(program)
    order = Letter.objects.get(is_order=True)
    assert (order.state, order.composed_on) == ("composed", START + timedelta(days=39))
    run(program, START + timedelta(days=200))
    assert Letter.objects.get(is_order=True).state == "composed"


@pytest.mark.parametrize(
    ("service", "place"),
    [
        ("fire", {}),
        ("combined domestic and fire", {}),
        ("domestic", {"has_combined_fire": True}),
        ("domestic", {"has_medical_supply": True}),
    ],
)
def test_no_order_is_prepared_where_one_must_not_be(
    program: Program, service: str, place: dict[str, Any]
) -> None:
    home = premises(program, of=owner(program), **place)
    assembly(home, service=service, facts=OVERDUE)
    to_the_end(program)
    assert not Letter.objects.filter(is_order=True).exists()
    assert not Notice.objects.filter(rung="shutoff-order").exists()
    question = Question.objects.get(kind="held notice")
    assert question.premises == home
    assert question.settled_at is None


def test_an_order_held_for_consent_is_prepared_once_it_is_recorded(program: Program) -> None:
    home = premises(program, of=owner(program), has_medical_supply=True)
    assembly(home, facts=OVERDUE)
    to_the_end(program)
    home.medical_consent = "Letter of February 14, filed"
    home.save()
    run(program, START + timedelta(days=41))
    assert Letter.objects.filter(is_order=True).count() == 1
    assert Question.objects.get(kind="held notice").settled_at is not None


def test_orders_are_one_for_each_premises(program: Program) -> None:
    larch = owner(program)
    for number in (1, 2):
        assembly(premises(program, number, of=larch), f"S{number}", facts=OVERDUE)
    to_the_end(program)
    assert Letter.objects.filter(kind="final").count() == 1
    assert Letter.objects.filter(is_order=True).count() == 2
