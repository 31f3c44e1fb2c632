"""An office whose order is signed, and the rules a test adds to its rulebook."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib.auth import get_user_model

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.actions.orders import Signer, evidence_digest, sign_order
from notices.models import Letter, Shutoff
from notices.queries.evidence import evidence_of
from registry.changes import Hand
from registry.models import Membership, Program
from scheduling.models import Adoption
from scheduling.models import Rulebook as RulebookRow
from scheduling.queries.shipped import shipped_text
from tests.notices.offices import AT, START, assembly, office, owner, premises

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)
ORDERED = START + timedelta(days=39)
"""Friday, February 13, 2026; Monday the 16th is Presidents' Day."""

TUESDAY = date(2026, 2, 17)
CLERK = Hand(by="a clerk", at=NOW)


def with_rules(program: Program, *rules: str) -> None:
    """Put the plain rules in force with more rules in words, each `topic` and more lines."""
    text = shipped_text("plain-rolling")
    for place, rule in enumerate(rules):
        topic, _, more = rule.partition("\n")
        text += (
            f'\n[[provision]]\nid = "more {place}"\ntopic = "{topic}"\nwords = "As said."\n'
            f'citation = "Invented for this test"\n{more}\n'
        )
    row = RulebookRow.objects.create(
        name="with-more", program=program, title="With more", text=text, loaded_at=AT,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )  # fmt: skip
    Adoption.objects.filter(program=program).update(rulebook=row)


def person(program: Program, role: str = "administrator", name: str = "") -> Any:
    """A person of the office."""
    user = get_user_model().objects.create_user(username=name or role, password="x")
    Membership.objects.create(user=user, role=role, program=program)
    return user


def prepared(*rules: str, **place: Any) -> Letter:
    """An order that waits, at the end of a whole ladder."""
    program = office(state="WA")
    if rules:
        with_rules(program, *rules)
    home = premises(program, of=owner(program), **place)
    assembly(home, facts=OVERDUE)
    for offset in (0, 14, 29, 39):
        run_day(program=program, as_of=START + timedelta(days=offset), now=NOW)
    return Letter.objects.get(is_order=True)


def signer(letter: Letter, user: Any, *, today: date = ORDERED) -> Signer:
    """Who has just read the evidence."""
    seen = evidence_digest(evidence_of(letter, today=today))
    return Signer(user=user, role="administrator", at=NOW, today=today, seen=seen)


def signed(letter: Letter) -> Shutoff:
    """The order signed by one person."""
    user = person(letter.program)
    sign_order(letter=letter, signer=signer(letter, user))
    return Shutoff.objects.select_related("program", "premises").get(order=letter)


def day(program: Program, on: date) -> Day:
    """A day on which a person acts."""
    return Day(program=program, on=on, at=NOW)
