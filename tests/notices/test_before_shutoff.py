"""Emergency orders, answers that are asked first, fees, and fire lines that are only reported."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from notices.actions.day import run_day
from notices.actions.emergency import emergency_at, sign_emergency
from notices.actions.fees import NewFee, owe_fee, settle_fee
from notices.actions.orders import Signer
from notices.actions.shutoff_answers import Said, record_answer, strike_answer
from notices.domain.shutoffs import AnswerKind, AnswerSays, FeeState
from notices.models import Fee, Letter, Notice, Shutoff, ShutoffAnswer, WorkOrder
from registry.changes import Hand
from registry.console import Refused
from registry.models import Change, Premises, Program, ServiceConnection
from tests.notices.offices import START, assembly, office, owner, premises
from tests.notices.shutoff_cases import CLERK, NOW, OVERDUE, person, with_rules

pytestmark = pytest.mark.django_db
FRIDAY = date(2026, 2, 13)


def place(*rules: str, service: str = "domestic", **changes: Any) -> Premises:
    program = office(state="WA")
    with_rules(program, *rules)
    home = premises(program, of=owner(program), **changes)
    assembly(home, service=service, facts=OVERDUE)
    return home


def sign(home: Premises, *, reason: str = "Sewage stands in the sink", role: str = "administrator",
         seen: str = "") -> Shutoff:  # fmt: skip
    services = list(home.connections.all())
    found = emergency_at(home, services=services, today=FRIDAY)
    return sign_emergency(
        home,
        services=services,
        reason=reason,
        signer=Signer(
            user=person(home.program, role),
            role=role,
            at=NOW,
            today=FRIDAY,
            seen=seen or found.digest,
        ),
    )


def test_an_emergency_order_sends_the_crew_at_once_and_the_notice_follows() -> None:
    # Two working days after Friday the 13th; Monday the 16th is Presidents' Day: Wednesday.
    made = sign(place("emergency\ndays = 2\nis_working = true"))
    assert (made.state, made.notice_by) == ("signed", date(2026, 2, 18))
    work = WorkOrder.objects.get()
    assert (work.for_on, work.kind) == (FRIDAY, "water off")
    notice = Letter.objects.get(kind="emergency-notice")
    assert (notice.state, notice.released_by) == ("left", "administrator")
    said = " ".join(notice.content["paragraphs"])
    assert "Sewage stands in the sink" in said
    assert "Invented for this test" in said
    assert Change.objects.filter(what="shutoff", subject_id=made.pk).exists()


@pytest.mark.parametrize(
    ("service", "changes", "told"),
    [
        ("fire", {}, "fire line is never shut off"),
        ("combined domestic and fire", {}, "fire department's answer"),
        ("domestic", {"has_medical_supply": True}, "Record the consent"),
    ],
)
def test_an_emergency_changes_nothing_about_fire_and_medical_supply(
    service: str, changes: dict[str, object], told: str
) -> None:
    home = place("emergency", service=service, **changes)
    with pytest.raises(Refused, match=told):
        sign(home)
    assert not Shutoff.objects.exists()
    assert not Letter.objects.exists()


def test_no_emergency_order_without_a_rule_of_it() -> None:
    with pytest.raises(Refused, match="says nothing of an emergency"):
        sign(place())


def test_an_emergency_order_has_a_reason_a_role_and_what_was_seen() -> None:
    home = place("emergency")
    with pytest.raises(Refused, match="Say what the danger is"):
        sign(home, reason="  ")
    with pytest.raises(Refused, match="does not sign"):
        sign(home, role="clerk")
    services = list(ServiceConnection.objects.all())
    boss = person(home.program, name="boss")
    stale = Signer(user=boss, role="administrator", at=NOW, today=FRIDAY, seen="0" * 64)
    with pytest.raises(Refused, match="has changed since"):
        sign_emergency(home, services=services, reason="Sewage", signer=stale)
    assert not Shutoff.objects.exists()


def test_the_newest_answer_decides_and_a_struck_one_does_not() -> None:
    home = place("emergency", service="combined domestic and fire")
    said = Said(
        kind=AnswerKind.FIRE, says=AnswerSays.MAY, on=FRIDAY, by="Captain Fir", words="at nine",
        until=None,
    )  # fmt: skip
    services = list(home.connections.all())

    def holds() -> tuple[str, ...]:
        return emergency_at(home, services=services, today=FRIDAY).holds

    may = record_answer(home, said=said, today=FRIDAY, hand=CLERK)
    assert holds() == ()
    no = Said(
        kind=AnswerKind.FIRE, says=AnswerSays.STAYS, on=FRIDAY, by="Captain Fir", words="no, wait",
        until=None,
    )  # fmt: skip
    stays = record_answer(home, said=no, today=FRIDAY, hand=CLERK)
    assert "wants the water to stay on" in holds()[0]
    strike_answer(stays, hand=Hand(by="a clerk", at=NOW, reason="Another house"))
    assert holds() == ()
    with pytest.raises(Refused, match="Say why"):
        strike_answer(may, hand=CLERK)
    assert ShutoffAnswer.objects.count() == 2


def test_an_answer_says_who_and_in_which_words() -> None:
    home = place()
    with pytest.raises(Refused, match="Say who answered"):
        record_answer(
            home,
            said=Said(
                kind=AnswerKind.MEDICAL, says=AnswerSays.MAY, on=FRIDAY, by=" ", words="yes",
                until=None,
            ),
            today=FRIDAY,
            hand=CLERK,
        )  # fmt: skip


def fee(home: Premises, **changes: object) -> Fee:
    values = {
        "rule": "more 0", "amount": Decimal("45.00"), "why": "water back", "on": FRIDAY,
        "form_key": "a", **changes,
    }  # fmt: skip
    new = NewFee(**values)  # type: ignore[arg-type]
    return owe_fee(home, new=new, today=FRIDAY, hand=CLERK)


def test_a_fee_is_written_down_only_where_a_rule_names_one() -> None:
    with pytest.raises(Refused, match="names no such fee"):
        fee(place())


def test_a_fee_is_owed_once_and_paid_or_waived_once() -> None:
    home = place("fee")
    made = fee(home)
    assert fee(home).pk == made.pk
    assert (made.citation, made.state) == ("Invented for this test", "owed")
    with pytest.raises(Refused, match="Say why"):
        settle_fee(made, state=FeeState.WAIVED, on=FRIDAY, today=FRIDAY, hand=CLERK)
    settle_fee(made, state=FeeState.PAID, on=FRIDAY, today=FRIDAY, hand=CLERK)
    with pytest.raises(Refused, match="not owed any more"):
        settle_fee(made, state=FeeState.PAID, on=FRIDAY, today=FRIDAY, hand=CLERK)
    made.refresh_from_db()
    assert (made.state, made.settled_by) == ("paid", "a clerk")


@pytest.mark.parametrize("amount", ["0.00", "-3.00", "100000.01"])
def test_a_fee_is_above_nothing_and_no_slip_of_the_hand(amount: str) -> None:
    with pytest.raises(Refused, match="above 0"):
        fee(place("fee"), amount=Decimal(amount))


def to_the_end(program: Program) -> None:
    for offset in (0, 14, 29, 39, 40):
        run_day(program=program, as_of=START + timedelta(days=offset), now=NOW)


def test_a_fire_line_is_reported_once_to_the_fire_department_and_never_ordered_off() -> None:
    # Hernando County FL 28-173: not shut off but reported to the fire department.
    home = place("no shutoff", service="fire")
    contacts = {"name": "Flats Fire Department", "address": "1 Engine Way", "city": "Flats",
                "state": "WA", "zip": "99171"}  # fmt: skip
    Program.objects.update(contacts={"fire_department": contacts})
    to_the_end(Program.objects.get())
    assert not Letter.objects.filter(is_order=True).exists()
    letter = Letter.objects.get(kind="fire-line-report")
    assert (letter.state, letter.needs_release) == ("composed", True)
    assert letter.address_lines[0] == "Flats Fire Department"
    said = " ".join(letter.content["paragraphs"])
    assert "does not shut off a dedicated fire line" in said
    assert "Invented for this test" in said
    left = Notice.objects.filter(left_on__isnull=False).count()
    assert left == 3
    assert letter.content["paragraphs"][1].count("2026") == left
    assert home.program.code == "flats"


def test_no_letter_goes_to_a_fire_department_without_an_address() -> None:
    place(service="fire")
    to_the_end(Program.objects.get())
    assert not Letter.objects.filter(kind="fire-line-report").exists()
