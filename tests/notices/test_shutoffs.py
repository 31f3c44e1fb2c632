"""From the signature to water back: two people, the crew, proof, and what is refused on the way."""

from __future__ import annotations

from datetime import date, time, timedelta
from io import BytesIO
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from pypdf import PdfReader

from notices.actions.orders import sign_as_second, sign_order
from notices.actions.shutoff_answers import Said, record_answer
from notices.actions.shutoffs import Shown, bring_back, call_off, name_another_day
from notices.actions.work_orders import CrewReport, order_work_off, record_done
from notices.domain.shutoffs import AnswerKind, AnswerSays, Proof
from notices.models import Letter, LetterAbout, Objection, Shutoff, WorkOrder
from registry.console import Refused
from registry.models import Assembly, Change, Premises
from tests.notices.offices import happened
from tests.notices.shutoff_cases import (
    CLERK,
    NOW,
    ORDERED,
    TUESDAY,
    day,
    person,
    prepared,
    signed,
    signer,
)

pytestmark = pytest.mark.django_db
CREW = CrewReport(on=TUESDAY, at=time(10, 5), by="B. Birch", reading="004417", words="")


def fresh(shutoff: Shutoff) -> Shutoff:
    return Shutoff.objects.select_related("program", "premises", "order").get(pk=shutoff.pk)


def off(shutoff: Shutoff) -> WorkOrder:
    (work,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    record_done(work, report=CREW, day=day(shutoff.program, TUESDAY), hand=CLERK)
    return work


def passes(on: date) -> None:
    happened(Assembly.objects.get(), (("passed", on),), as_of=on)


def brought_back(shutoff: Shutoff, proof: Proof, *, on: date, user: Any, words: str = "") -> Any:
    return bring_back(
        shutoff, shown=Shown(proof=proof, on=on, words=words), user=user, today=on, hand=CLERK
    )


def test_an_order_goes_from_its_signature_to_water_back() -> None:
    letter = prepared(has_tenants=True)
    shutoff = signed(letter)
    assert (shutoff.state, shutoff.signed_by) == ("signed", "administrator")
    work = off(shutoff)
    assert fresh(shutoff).state == "off"
    work.refresh_from_db()
    assert (work.state, work.done_by, work.reading) == ("done", "B. Birch", "004417")
    passes(date(2026, 2, 20))
    clerk = person(letter.program, "clerk")
    (back,) = brought_back(shutoff, Proof.PASSED, on=date(2026, 2, 20), user=clerk)
    assert fresh(shutoff).state == "proved"
    report = CrewReport(on=date(2026, 2, 20), at=None, by="B. Birch", reading="", words="")
    record_done(back, report=report, day=day(letter.program, date(2026, 2, 20)), hand=CLERK)
    ended = fresh(shutoff)
    assert (ended.state, ended.ended_on) == ("water back", date(2026, 2, 20))
    told = Letter.objects.get(kind="water-back")
    assert (told.state, told.needs_release) == ("composed", True)
    assert "February\u00a017, 2026" in " ".join(told.content["headline"])
    said = Change.objects.filter(what="work order").count()
    assert said == 4


def test_the_crews_paper_says_where_what_and_every_caution() -> None:
    letter = prepared(has_tenants=True, access_notes="Gate <A & B>", phone="(555) 010-0199")
    shutoff = signed(letter)
    (work,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    reader = PdfReader(BytesIO(bytes(work.pdf)))
    text = " ".join(page.extract_text() for page in reader.pages)
    text = " ".join(text.replace("\u00a0", " ").split())
    assert len(reader.pages) == 1
    for said in (
        "Work order 1: water off",
        "February 17, 2026, and on no other day",
        "230 Larch Court",
        "Gate <A & B>; (555) 010-0199",
        f"Order {letter.number}",
        "administrator, administrator, February 13, 2026",
        "TENANTS",
        "Do nothing, and call the office",
        "Meter reading",
        "Signature",
    ):
        assert said in text
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]  # type: ignore[index]


@pytest.mark.parametrize(
    ("on", "told"),
    [
        (date(2026, 2, 13), "eve of a closed day"),
        (date(2026, 2, 16), "closed"),
        (date(2026, 2, 12), "past"),
    ],
)
def test_nobody_is_sent_on_a_closed_day_or_the_eve_of_one(on: date, told: str) -> None:
    shutoff = signed(prepared())
    with pytest.raises(Refused, match=told):
        order_work_off(shutoff, for_on=on, today=ORDERED, hand=CLERK)
    assert not WorkOrder.objects.exists()


def test_nobody_is_sent_before_the_order_letter_has_left() -> None:
    letter = prepared()
    shutoff = signed(letter)
    Letter.objects.filter(pk=letter.pk).update(state="leaving")
    with pytest.raises(Refused, match="has not left yet"):
        order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)


def test_nobody_is_sent_when_a_test_has_passed_since() -> None:
    shutoff = signed(prepared())
    passes(date(2026, 2, 14))
    with pytest.raises(Refused, match="Call it off"):
        order_work_off(shutoff, for_on=TUESDAY, today=date(2026, 2, 15), hand=CLERK)
    call_off(shutoff, why="It passed.", today=date(2026, 2, 15), hand=CLERK)
    assert fresh(shutoff).state == "called off"


def test_nobody_is_sent_while_an_objection_is_open() -> None:
    shutoff = signed(prepared())
    Objection.objects.create(
        program=shutoff.program, premises=shutoff.premises, kind="appeal", raised_on=ORDERED,
        raised_by="Larch Court", words="Not ours", review_on=TUESDAY, taken_by="c", taken_at=NOW,
    )  # fmt: skip
    with pytest.raises(Refused, match="appeal of February"):
        order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)


def test_an_answer_that_ends_before_the_day_keeps_the_crew_at_home() -> None:
    letter = prepared(has_combined_fire=True, fire_answer="yes, as the file says")
    shutoff = signed(letter)
    said = Said(
        kind=AnswerKind.FIRE, says=AnswerSays.MAY, on=ORDERED, by="Capt. Fir", words="until Monday",
        until=date(2026, 2, 16),
    )  # fmt: skip
    record_answer(shutoff.premises, said=said, today=ORDERED, hand=CLERK)
    record_answer(shutoff.premises, said=said, today=ORDERED, hand=CLERK)
    assert Premises.objects.get().shutoff_answers.count() == 1
    with pytest.raises(Refused, match="Ask again"):
        order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)


def test_a_second_person_signs_where_the_rulebook_says_and_only_then_it_leaves() -> None:
    letter = prepared("second person")
    first, second = person(letter.program), person(letter.program, name="second")
    sign_order(letter=letter, signer=signer(letter, first))
    letter.refresh_from_db()
    assert letter.state == "composed"
    assert not Shutoff.objects.exists()
    with pytest.raises(Refused, match="You have signed it"):
        sign_as_second(letter=letter, signer=signer(letter, first))
    made = sign_as_second(letter=letter, signer=signer(letter, second))
    letter.refresh_from_db()
    assert (made.name, letter.state) == ("second", "left")
    assert Shutoff.objects.get().signed_by == "administrator"


def test_what_changed_after_the_first_signed_is_signed_anew_by_the_first() -> None:
    letter = prepared("second person")
    first, second = person(letter.program), person(letter.program, name="second")
    sign_order(letter=letter, signer=signer(letter, first))
    Premises.objects.update(has_tenants=True)
    with pytest.raises(Refused, match="reads and signs it anew"):
        sign_as_second(letter=letter, signer=signer(letter, second))
    with pytest.raises(Refused, match="Sign it as the second"):
        sign_order(letter=letter, signer=signer(letter, second))
    sign_order(letter=letter, signer=signer(letter, first))
    sign_as_second(letter=letter, signer=signer(letter, second))
    assert Shutoff.objects.count() == 1


def test_without_that_rule_one_signature_is_enough() -> None:
    assert signed(prepared()).state == "signed"


def test_a_booked_test_brings_water_back_only_where_the_rulebook_takes_one() -> None:
    # Kansas City MO 78-299: restored only with a booked or current test.
    shutoff = signed(prepared())
    off(shutoff)
    clerk = person(shutoff.program, "clerk")
    booked = {"on": date(2026, 2, 20), "user": clerk, "words": "Alder Testing, 9:00"}
    with pytest.raises(Refused, match="takes no booked test"):
        brought_back(shutoff, Proof.BOOKED, **booked)


def test_a_booked_test_brings_water_back_where_it_does() -> None:
    shutoff = signed(prepared('restoration\nby = ["booked test", "passed test"]'))
    off(shutoff)
    clerk = person(shutoff.program, "clerk")
    with pytest.raises(Refused, match="Say what is there"):
        brought_back(shutoff, Proof.BOOKED, on=date(2026, 2, 20), user=clerk)
    made = brought_back(
        shutoff, Proof.BOOKED, on=date(2026, 2, 20), user=clerk, words="Alder Testing, 9:00"
    )
    assert [one.kind for one in made] == ["water back"]


def test_only_who_may_sign_brings_water_back_without_a_test() -> None:
    shutoff = signed(prepared())
    off(shutoff)
    clerk = person(shutoff.program, "clerk")
    told: dict[str, Any] = {"on": date(2026, 2, 18), "words": "An error in our record."}
    with pytest.raises(Refused, match="Only who may sign"):
        brought_back(shutoff, Proof.DECISION, user=clerk, **told)
    boss = person(shutoff.program, name="boss")
    assert brought_back(shutoff, Proof.DECISION, user=boss, **told)


def test_everything_is_once() -> None:
    shutoff = signed(prepared())
    first = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    assert order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK) == []
    record_done(first[0], report=CREW, day=day(shutoff.program, TUESDAY), hand=CLERK)
    with pytest.raises(Refused, match="does not wait any more"):
        record_done(first[0], report=CREW, day=day(shutoff.program, TUESDAY), hand=CLERK)
    with pytest.raises(IntegrityError), transaction.atomic():
        Shutoff.objects.create(
            program=shutoff.program, premises=shutoff.premises, is_emergency=True,
            signed_on=ORDERED, signed_at=NOW, signed_by="x", signed_role="x", evidence_sha256="x",
        )  # fmt: skip


def test_another_day_is_named_when_the_crew_could_not() -> None:
    shutoff = signed(prepared())
    (work,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    with pytest.raises(Refused, match="Say why"):
        name_another_day(work, why=" ", hand=CLERK)
    name_another_day(work, why="Nobody let us in.", hand=CLERK)
    later = TUESDAY + timedelta(days=1)
    (again,) = order_work_off(shutoff, for_on=later, today=TUESDAY, hand=CLERK)
    assert (again.number, again.for_on) == (2, later)


def test_water_back_is_told_once_however_often_it_is_written() -> None:
    shutoff = signed(prepared())
    off(shutoff)
    boss = person(shutoff.program, name="boss")
    (back,) = brought_back(shutoff, Proof.DECISION, on=TUESDAY, user=boss, words="An error.")
    record_done(back, report=CREW, day=day(shutoff.program, TUESDAY), hand=CLERK)
    from notices.actions.water_back import tell_water_is_back

    tell_water_is_back(fresh(shutoff), day=day(shutoff.program, TUESDAY))
    assert LetterAbout.objects.filter(key=f"water back:{shutoff.pk}").count() == 1
