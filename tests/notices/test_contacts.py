"""What people say: promises hold the next rung as the rulebook lets them, objections the clock."""

from __future__ import annotations

from datetime import date

import pytest

from notices.actions.contacts import Told, withdraw_contact, write_down
from notices.actions.objections import Raised, Verdict, decide_objection, take_objection
from notices.models import Contact, Letter, Notice, Objection
from registry.models import Premises, Program, Question
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.models import Obligation
from tests.notices.offices import START, assembly, happened, office, owner, premises
from tests.notices.test_returned_letters import OVERDUE, at, hand, on, provide, run, told

pytestmark = pytest.mark.django_db


@pytest.fixture
def program() -> Program:
    program = office()
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    return program


def place() -> Premises:
    return Premises.objects.get()


def promise(program: Program, *, said: int, until: int, key: str = "form") -> Contact:
    return write_down(
        place(),
        told=Told(
            kind="call",
            on=on(said),
            words="Tester booked.",
            spoken_with="J. Owner",
            promised_for=on(until),
            form_key=key,
        ),
        day=at(program, said),
        hand=hand(said),
    )


def open_row() -> Obligation:
    return Obligation.objects.get(closed_on__isnull=True)


def test_a_promise_holds_the_next_rung_through_its_day_and_no_longer(program: Program) -> None:
    provide("promise", "days = 30")
    promise(program, said=10, until=20)
    for later in (14, 20):
        run(program, later)
    assert told() == [("first-overdue", START)]
    assert open_row().next_action_on == on(21)
    run(program, 21)
    assert told()[-1] == ("second-overdue", on(21))
    notice = Notice.objects.get(rung="second-overdue")
    assert notice.reasons  # it says why it left that day


def test_a_promise_holds_no_longer_than_the_rulebook_lets_it(program: Program) -> None:
    provide("promise", "days = 10")
    promise(program, said=10, until=40)
    promise(program, said=19, until=60, key="another")  # a new promise does not begin anew
    run(program, 20)
    assert told() == [("first-overdue", START)]
    run(program, 21)
    assert told()[-1] == ("second-overdue", on(21))


def test_a_promise_holds_nothing_where_the_rulebook_says_nothing(program: Program) -> None:
    promise(program, said=10, until=40)
    run(program, 14)
    assert told()[-1] == ("second-overdue", on(14))


def test_a_promise_holds_an_order_only_where_the_rulebook_lets_it(program: Program) -> None:
    provide("promise", "days = 60")
    for later in (14, 29):
        run(program, later)
    promise(program, said=30, until=80)
    run(program, 39)
    assert told()[-1] == ("shutoff-order", None)  # prepared; a person signs it or does not


def test_an_order_waits_where_the_rulebook_says_that_a_promise_holds_it(program: Program) -> None:
    provide("promise", 'days = 60\nby = ["order"]')
    for later in (14, 29):
        run(program, later)
    promise(program, said=30, until=45)
    run(program, 39)
    assert told()[-1] == ("final", on(29))
    run(program, 46)
    assert told()[-1] == ("shutoff-order", None)


def test_a_withdrawn_promise_lets_the_rung_go_at_the_next_run(program: Program) -> None:
    provide("promise", "days = 60")
    one = promise(program, said=10, until=50)
    run(program, 14)
    assert open_row().next_action_on == on(51)
    assert withdraw_contact(one, day=at(program, 16), hand=hand(16, "Another owner."))
    assert not withdraw_contact(one, day=at(program, 16), hand=hand(16, "Again."))
    run(program, 16)
    assert told()[-1] == ("second-overdue", on(16))


def test_a_form_sent_twice_is_one_contact_and_a_wrong_one_is_none(program: Program) -> None:
    promise(program, said=10, until=12)
    promise(program, said=10, until=12)
    assert Contact.objects.count() == 1
    with pytest.raises(RefusedChangeError, match="later day"):
        promise(program, said=10, until=9, key="wrong")
    with pytest.raises(RefusedChangeError, match="still to come"):
        write_down(
            place(),
            told=Told(kind="call", on=on(11), words="x", form_key="k"),
            day=at(program, 10),
            hand=hand(10),
        )


def objection(program: Program, *, said: int = 5, review: int = 30) -> Objection:
    return take_objection(
        place(),
        raised=Raised(
            kind="objection",
            raised_by="J. Owner",
            words="Not my assembly.",
            raised_on=on(said),
            review_on=on(review),
            letter=Letter.objects.order_by("pk")[0],
        ),
        day=at(program, said),
        hand=hand(said),
    )


def test_an_objection_stops_the_clock_until_it_is_decided(program: Program) -> None:
    row = objection(program)
    for later in (14, 29):
        run(program, later)
    assert told() == [("first-overdue", START)]
    assert not Question.objects.filter(key=f"objection:{row.pk}").exists()
    run(program, 30)
    assert "looked at" in Question.objects.get(key=f"objection:{row.pk}").text
    with pytest.raises(RefusedChangeError, match="open here already"):
        objection(program, said=31, review=40)


def test_rejected_the_clock_goes_on_from_where_it_stood(program: Program) -> None:
    # Left on day 0, gap 14; stopped on day 5, decided on day 20: nine days are left, so day 29.
    row = objection(program)
    decided, letter = decide_objection(
        row.pk,
        verdict=Verdict(outcome="rejected", decided_by="M. Chief", words="It is yours."),
        day=at(program, 20),
        hand=hand(20),
    )
    assert (decided.outcome, decided.decided_by) == ("rejected", "M. Chief")
    assert (letter.kind, letter.state, letter.needs_release) == ("decision", "composed", True)
    assert "It is yours." in " ".join(letter.content["paragraphs"])
    run(program, 28)
    assert told() == [("first-overdue", START)]
    run(program, 29)
    assert told()[-1] == ("second-overdue", on(29))
    with pytest.raises(RefusedChangeError, match="decided before"):
        decide_objection(
            row.pk,
            verdict=Verdict(outcome="upheld", decided_by="M. Chief", words="After all."),
            day=at(program, 30),
            hand=hand(30),
        )


def test_upheld_the_notices_count_for_nothing_and_it_is_excused_until_the_day(
    program: Program,
) -> None:
    row = objection(program)
    _, letter = decide_objection(
        row.pk,
        verdict=Verdict(
            outcome="upheld", decided_by="M. Chief", words="It is not.", excused_until=on(200)
        ),
        day=at(program, 20),
        hand=hand(20),
    )
    assert Notice.objects.get().sent_in_error_on == on(20)
    assert not Letter.objects.filter(kind="correction").exists()  # one letter says it
    assert "count for nothing" in str(letter.content["sections"])
    closed = Obligation.objects.get(closed_how="excused")
    assert closed.closed_on == on(20)
    run(program, 21)
    run(program, 60)
    assert Notice.objects.count() == 1


def test_two_stops_let_the_clock_go_on_only_when_both_have_ended(program: Program) -> None:
    from notices.actions.settling_returned import goes_on
    from notices.domain.returns import CameBack
    from tests.notices.test_returned_letters import back

    row = objection(program)
    done = back(program, Letter.objects.get().number, how=CameBack.UNDELIVERABLE, later=8)
    decide_objection(
        row.pk,
        verdict=Verdict(outcome="rejected", decided_by="M. Chief", words="No."),
        day=at(program, 20),
        hand=hand(20),
    )
    run(program, 40)
    assert told() == [("first-overdue", START)]
    goes_on(done.kept[0].pk, day=at(program, 41), hand=hand(41, "He has it."))
    run(program, 49)
    assert told() == [("first-overdue", START)]
    run(program, 50)  # five days ran before day 5, nine after day 41
    assert told()[-1] == ("second-overdue", on(50))


def test_a_pass_ends_what_a_promise_held(program: Program) -> None:
    provide("promise", "days = 30")
    promise(program, said=10, until=20)
    one = open_row().its_assembly
    happened(one, (("passed", date(2026, 1, 17)),), as_of=on(13))
    run(program, 21)
    assert told() == [("first-overdue", START)]
