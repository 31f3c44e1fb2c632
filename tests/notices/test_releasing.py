"""Releasing letters and signing orders: a person, with the evidence as it stands."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.core.management import call_command

from notices.actions.day import run_day
from notices.actions.orders import Signer, evidence_digest, sign_order
from notices.actions.releasing import release_letters
from notices.models import Letter, OrderSignature
from notices.queries.evidence import evidence_of
from registry.console import Refused
from registry.models import Change, Membership, Program
from tests.notices.offices import START, assembly, happened, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)
ORDERED = START + timedelta(days=39)


@pytest.fixture
def program() -> Program:
    return office()


@pytest.fixture
def order(program: Program) -> Letter:
    """An order that waits, at the end of a whole ladder."""
    assembly(premises(program, of=owner(program), has_tenants=True), facts=OVERDUE)
    for offset in (0, 14, 29, 39):
        run_day(program=program, as_of=START + timedelta(days=offset), now=NOW)
    return Letter.objects.get(is_order=True)


def person(program: Program, role: str = "administrator") -> Any:
    user = get_user_model().objects.create_user(username=role, password="x")
    Membership.objects.create(user=user, role=role, program=program)
    return user


def sign(order: Letter, user: Any, *, seen: str | None = None, today: date = ORDERED) -> Any:
    digest = evidence_digest(evidence_of(order, today=ORDERED)) if seen is None else seen
    signer = Signer(user=user, role="administrator", at=NOW, today=today, seen=digest)
    return sign_order(letter=order, signer=signer)


def test_a_signed_order_leaves_with_the_evidence_kept(program: Program, order: Letter) -> None:
    signature = sign(order, person(program))
    order.refresh_from_db()
    assert (order.state, order.left_on, order.released_by) == ("left", ORDERED, "administrator")
    assert [sent["rung"] for sent in signature.evidence["cases"][0]["sent"]] == [
        "first-overdue",
        "second-overdue",
        "final",
    ]
    assert signature.evidence["has_tenants"] is True
    assert Change.objects.filter(what="letter", subject_id=order.pk).exists()


def test_a_clerk_does_not_sign(program: Program, order: Letter) -> None:
    with pytest.raises(Refused, match="does not sign"):
        sign(order, person(program, "clerk"))
    assert not OrderSignature.objects.exists()


def test_evidence_that_changed_since_it_was_read_must_be_read_again(
    program: Program, order: Letter
) -> None:
    seen = evidence_digest(evidence_of(order, today=ORDERED))
    place = order.carried.get().notice.premises
    assembly(place, "S9", facts=(("passed", START),))  # something else would go off too
    with pytest.raises(Refused, match="has changed"):
        sign(order, person(program), seen=seen)


@pytest.mark.parametrize(
    "flag", [{"has_medical_supply": True}, {"has_combined_fire": True}], ids=["medical", "fire"]
)
def test_an_order_is_not_signed_against_a_hold_recorded_later(
    program: Program, order: Letter, flag: dict[str, bool]
) -> None:
    place = order.carried.get().notice.premises
    for name, value in flag.items():
        setattr(place, name, value)
    place.save()
    with pytest.raises(Refused, match="cannot be signed"):
        sign(order, person(program))


def test_a_pass_before_the_signature_withdraws_the_order(program: Program, order: Letter) -> None:
    one = order.carried.get().notice.assembly
    assert one is not None
    happened(one, (("passed", ORDERED),), as_of=ORDERED)
    with pytest.raises(Refused, match="passing test"):
        sign(order, person(program))
    order.refresh_from_db()
    assert order.state == "withdrawn"


def test_an_order_is_signed_once(program: Program, order: Letter) -> None:
    user = person(program)
    sign(order, user)
    with pytest.raises(Refused, match="does not wait"):
        sign(order, user)
    assert OrderSignature.objects.count() == 1


def test_no_release_by_list_or_command_lets_an_order_go(program: Program, order: Letter) -> None:
    done = release_letters(
        program=program, letter_ids=[order.pk], by="a clerk", at=NOW, today=ORDERED
    )
    assert done.released == []
    assert "signs" in done.refused[order.number]
    said = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command(
            *("release_letters", "--program", "flats", "--by", "a clerk"),
            *("--as-of", ORDERED.isoformat(), "--json"),
            stdout=said,
        )
    assert ended.value.code == 1
    assert json.loads(said.getvalue())["released"] == []
    order.refresh_from_db()
    assert order.state == "composed"


def test_a_flagged_letter_leaves_when_a_person_releases_it(program: Program) -> None:
    assembly(premises(program, of=owner(program, zip="")), facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOW)
    letter = Letter.objects.get()
    day = START + timedelta(days=3)
    done = release_letters(
        program=program, letter_ids=[letter.pk], by="Ada Birch", at=NOW, today=day
    )
    assert done.released == [letter.number]
    letter.refresh_from_db()
    assert (letter.left_on, letter.released_by) == (day, "Ada Birch")
    # The next rung counts from the day it really left: 3 + 14 = 17 days on.
    assert run_day(program=program, as_of=day + timedelta(days=13), now=NOW).notices == 0
    assert run_day(program=program, as_of=day + timedelta(days=14), now=NOW).notices == 1


def test_letters_of_another_program_are_out_of_reach(program: Program) -> None:
    assembly(premises(program, of=owner(program, zip="")), facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOW)
    other = office("other")
    ids = [Letter.objects.get().pk]
    done = release_letters(program=other, letter_ids=ids, by="x", at=NOW, today=START)
    assert (done.released, done.refused) == ([], {})
