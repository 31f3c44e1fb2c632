"""What the ladder no longer asks for is withdrawn, as long as it has not left."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from notices.actions.day import DayTally, run_day
from notices.models import Letter, LetterNotice, Notice
from registry.models import PremisesParty, Program
from scheduling.actions.facts import withdraw_facts
from scheduling.models import Fact, Obligation
from tests.notices.offices import START, assembly, happened, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)


def run(program: Program, day: date) -> DayTally:
    return run_day(program=program, as_of=day, now=NOW)


def rungs(program: Program) -> list[tuple[str, date | None]]:
    found = Notice.objects.filter(program=program).order_by("recorded_on", "pk")
    return [(notice.rung, notice.left_on) for notice in found]


@pytest.fixture
def program() -> Program:
    return office()


def test_a_pass_before_an_order_is_released_withdraws_it(program: Program) -> None:
    one = assembly(premises(program, of=owner(program)), facts=OVERDUE)
    for offset in (0, 14, 29, 39):
        tally = run(program, START + timedelta(days=offset))
    assert tally.waiting_for_release == 1
    day = START + timedelta(days=40)
    happened(one, (("passed", day),), as_of=day)
    tally = run(program, day)
    assert (tally.withdrawn, tally.waiting_for_release) == (1, 0)
    letter = Letter.objects.get(kind="shutoff-order")
    assert (letter.state, letter.ended_reason) == (
        "withdrawn",
        "A passing test was recorded before it left.",
    )
    assert Notice.objects.get(rung="shutoff-order").withdrawn_on == day


def test_of_a_waiting_letter_only_what_still_stands_is_composed_anew(program: Program) -> None:
    place = premises(program, of=owner(program, zip=""))  # an incomplete address: it waits
    one, two = (assembly(place, serial, facts=OVERDUE) for serial in ("S1", "S2"))
    run(program, START)
    first = Letter.objects.get()
    day = START + timedelta(days=1)
    happened(one, (("passed", day),), as_of=day)
    tally = run(program, day)
    assert (tally.withdrawn, tally.letters) == (1, 1)
    anew = Letter.objects.exclude(pk=first.pk).get()
    assert anew.predecessor == first
    (link,) = LetterNotice.objects.filter(is_live=True)
    assert (link.letter, link.notice.assembly) == (anew, two)


def test_a_new_owner_gets_the_waiting_letter_and_the_lawful_part_anew(program: Program) -> None:
    place = premises(program, of=owner(program))
    assembly(place, facts=OVERDUE)
    run(program, START)
    day = START + timedelta(days=20)
    PremisesParty.objects.filter(premises=place).update(until_on=day)
    PremisesParty.objects.create(
        premises=place, party=owner(program, "New Owner"), role="owner", since_on=day
    )
    Obligation.objects.update(lawful_since=day)
    run(program, day)
    assert rungs(program) == [("first-overdue", START), ("first-overdue", day)]
    assert Letter.objects.latest("pk").address_lines[0] == "New Owner"
    run(program, day + timedelta(days=14))
    assert rungs(program)[-1] == ("second-overdue", day + timedelta(days=14))


def test_what_left_for_a_superseded_obligation_counts_for_its_successor(program: Program) -> None:
    one = assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, START)
    # The pass of 2024 is corrected to another day: the obligation gets a new origin.
    stated = Fact.objects.get(assembly=one)
    day = START + timedelta(days=3)
    withdraw_facts(program=program, fact_ids=[stated.pk], at=NOW, reason="a slip", by="a test")
    happened(one, (("passed", date(2024, 11, 20)),), as_of=day)
    old, new = Obligation.objects.order_by("pk")
    assert (old.closed_how, old.successor) == ("superseded", new)
    assert run(program, day).notices == 0
    run(program, START + timedelta(days=14))
    assert rungs(program) == [
        ("first-overdue", START),
        ("second-overdue", START + timedelta(days=14)),
    ]
