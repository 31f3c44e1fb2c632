"""Letters that came back: the clock stands, the rung goes again, or the second means leaves."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta

import pytest

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.actions.returned import Entered, enter_returned
from notices.actions.settling_returned import by_other_means, goes_on, new_address
from notices.delivery.paper_runs import left_by_hand, mail_run, make_run, waiting_paper
from notices.domain.kinds import Channel
from notices.domain.returns import CameBack
from notices.links import owner_link, token_of
from notices.models import ClockStop, Delivery, Letter, Notice, ReturnedLetter
from registry.changes import Hand
from registry.console import Refused
from registry.models import Program, Question
from scheduling.models import Obligation, Rulebook
from tests.notices.offices import START, assembly, happened, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)
AGAIN = {"address": "9 Alder Way", "city": "Tamarack Flats", "state": "WA", "zip": "99171"}


def provide(topic: str, more: str = "") -> None:
    """Let the rulebook in force say something of a topic."""
    for row in Rulebook.objects.filter(adoptions__isnull=False).distinct():
        row.text += (
            f'\n[[provision]]\nid = "{topic} here"\ntopic = "{topic}"\nwords = "As it says."\n'
            f'citation = "An invented rule"\n{more}\n'
        )
        row.sha256 = hashlib.sha256(row.text.encode()).hexdigest()
        row.save()


def on(later: int) -> date:
    return START + timedelta(days=later)


def at(program: Program, later: int) -> Day:
    day = on(later)
    return Day(program=program, on=day, at=datetime(day.year, day.month, day.day, 20, tzinfo=UTC))


def hand(later: int, reason: str = "") -> Hand:
    day = on(later)
    moment = datetime(day.year, day.month, day.day, 20, tzinfo=UTC)
    return Hand(by="A. Clerk", at=moment, reason=reason)


def run(program: Program, later: int) -> None:
    run_day(program=program, as_of=on(later), now=NOW)


def told() -> list[tuple[str, date | None]]:
    return list(Notice.objects.order_by("recorded_on", "pk").values_list("rung", "left_on"))


def back(program: Program, line: str, *, how: CameBack, later: int) -> Entered:
    return enter_returned(
        line, how=how, came_back_on=on(later), words="", day=at(program, later), hand=hand(later)
    )


@pytest.fixture
def program() -> Program:
    program = office()
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    return program


def test_undeliverable_stops_the_clock_and_asks_for_another_address(program: Program) -> None:
    letter = Letter.objects.get()
    done = back(program, letter.number, how=CameBack.UNDELIVERABLE, later=5)
    assert (len(done.kept), done.faults) == (1, [])
    letter.refresh_from_db()
    assert letter.state == "returned"
    question = Question.objects.get(kind="returned letter")
    assert question.settled_at is None
    assert question.premises is not None
    row = Obligation.objects.get(closed_on__isnull=True)
    assert row.detail["pauses"] == [[on(5).isoformat(), None]]
    for later in (14, 40, 90):
        run(program, later)
    assert told() == [("first-overdue", START)]  # nothing leaves while the clock stands


def test_with_a_new_address_the_rung_goes_again_and_the_clock_runs_from_that_leaving(
    program: Program,
) -> None:
    first = Letter.objects.get()
    back(program, first.number, how=CameBack.UNDELIVERABLE, later=5)
    returned = ReturnedLetter.objects.get()
    new_address(returned.pk, address=AGAIN, day=at(program, 30), hand=hand(30))
    assert Obligation.objects.get(closed_on__isnull=True).next_action_on == on(30)
    run(program, 30)
    second = Letter.objects.exclude(pk=first.pk).get()
    assert (second.kind, second.predecessor_id) == ("first-overdue", first.pk)
    assert "9 Alder Way" in second.address_lines
    first.refresh_from_db()
    assert "230 Larch Court" in first.address_lines  # what was sent is kept as it was
    assert (first.state, first.left_on) == ("returned", START)
    assert told() == [("first-overdue", on(30))]
    run(program, 43)
    assert told() == [("first-overdue", on(30))]
    run(program, 44)  # rule 7: at least 14 days after the first left, and that is now day 30
    assert told()[-1] == ("second-overdue", on(44))
    returned.refresh_from_db()
    assert (returned.settled_how, returned.notices_left) == (
        "new address",
        {str(Notice.objects.order_by("pk")[0].pk): START.isoformat()},
    )
    assert Question.objects.get(kind="returned letter").settled_at is not None


def test_a_clock_that_stopped_goes_on_from_where_it_stood(program: Program) -> None:
    # Left on day 0, gap 14; stopped on day 5, goes on as it is on day 20: nine days are left.
    back(program, Letter.objects.get().number, how=CameBack.UNDELIVERABLE, later=5)
    with pytest.raises(Refused, match="why"):
        goes_on(ReturnedLetter.objects.get().pk, day=at(program, 20), hand=hand(20))
    goes_on(
        ReturnedLetter.objects.get().pk, day=at(program, 20), hand=hand(20, "Read out by phone.")
    )
    run(program, 28)
    assert told() == [("first-overdue", START)]
    run(program, 29)
    assert told()[-1] == ("second-overdue", on(29))


def test_a_stop_that_ends_the_day_it_began_leaves_no_stop_behind(program: Program) -> None:
    back(program, Letter.objects.get().number, how=CameBack.UNDELIVERABLE, later=5)
    goes_on(ReturnedLetter.objects.get().pk, day=at(program, 5), hand=hand(5, "Typed wrongly."))
    assert not Obligation.objects.get(closed_on__isnull=True).detail.get("pauses")
    assert ClockStop.objects.get().fact.withdrawn_at is not None
    run(program, 14)
    assert told()[-1] == ("second-overdue", on(14))


def test_a_letter_is_known_by_scan_number_or_short_code_and_comes_back_once(
    program: Program,
) -> None:
    letter = Letter.objects.get()
    token = token_of(program_code=program.code, number=letter.number)
    lines = "\n".join(
        [f" {letter.short_code[:3]} {letter.short_code[3:]} ", owner_link(token), "", "no such"]
    )
    done = back(program, lines, how=CameBack.UNDELIVERABLE, later=3)
    assert [one.letter for one in done.kept] == [letter]
    assert [row for row, _ in done.faults] == [2, 4]
    assert "entered before" in done.faults[0][1]
    assert back(program, letter.number, how=CameBack.REFUSED, later=4).kept == []
    with pytest.raises(Refused, match="still to come"):
        enter_returned(
            letter.number,
            how=CameBack.REFUSED,
            came_back_on=on(9),
            words="",
            day=at(program, 3),
            hand=hand(3),
        )


def test_a_letter_of_another_office_is_not_known(program: Program) -> None:
    other = office("other")
    done = back(other, Letter.objects.get().number, how=CameBack.REFUSED, later=3)
    assert (done.kept, len(done.faults)) == ([], 1)


def test_refused_with_a_second_means_goes_again_that_way_and_stops_nothing(
    program: Program,
) -> None:
    provide("second means", 'by = ["mail", "posted at the door"]')
    back(program, Letter.objects.get().number, how=CameBack.REFUSED, later=5)
    door = Delivery.objects.get(channel="door")  # it had gone by mail before
    assert (door.state, door.left_on, door.is_required) == ("left", on(5), False)  # a trial
    assert not Question.objects.filter(kind="returned letter").exists()
    run(program, 14)
    assert told()[-1] == ("second-overdue", on(14))


def test_refused_where_the_rulebook_says_nothing_waits_for_a_person(program: Program) -> None:
    back(program, Letter.objects.get().number, how=CameBack.UNCLAIMED, later=5)
    question = Question.objects.get(kind="returned letter")
    assert "unclaimed" in question.text
    run(program, 14)
    assert told() == [("first-overdue", START)]
    row = Obligation.objects.get(closed_on__isnull=True)
    assert row.next_action_on == on(15)  # looked at again every day
    by_other_means(
        ReturnedLetter.objects.get().pk, channel=Channel.HAND, day=at(program, 16), hand=hand(16)
    )
    run(program, 16)
    assert told()[-1] == ("second-overdue", on(16))
    with pytest.raises(Refused, match="settled"):
        goes_on(ReturnedLetter.objects.get().pk, day=at(program, 17), hand=hand(17, "Why not."))


def test_a_reminder_that_was_refused_asks_nothing(program: Program) -> None:
    assembly(premises(program, 9, of=owner(program, "Reminded")), "S9", facts=(
        ("passed", date(2025, 2, 1)),))  # fmt: skip
    run(program, 1)
    reminder = Letter.objects.get(kind="reminder")
    back(program, reminder.number, how=CameBack.REFUSED, later=3)
    assert ReturnedLetter.objects.get().settled_how == "goes on"
    assert not Question.objects.filter(kind="returned letter").exists()


def _live() -> Program:
    program = office(is_trial=False, go_live_on=START)
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    provide("second means", 'by = ["posted at the door"]')
    run(program, 0)
    paper = make_run(program=program, channel="mail", day=at(program, 0), hand=hand(0))
    mail_run(paper, on=START, day=at(program, 0), hand=hand(0))
    back(program, Letter.objects.get().number, how=CameBack.REFUSED, later=5)
    return program


def test_the_next_rung_waits_until_the_second_means_has_left_and_counts_from_the_first() -> None:
    program = _live()
    door = waiting_paper(program).get()
    assert (door.channel, door.came_from is not None) == ("door", True)
    run(program, 20)
    assert told() == [("first-overdue", START)]
    left_by_hand(door, on=on(20), tracking="", day=at(program, 20), hand=hand(20, "Door tag."))
    run(program, 21)
    letter = Letter.objects.get(kind="first-overdue")
    assert (letter.state, letter.left_on) == ("left", START)
    assert Notice.objects.filter(rung="second-overdue", recorded_on=on(21)).exists()


def test_a_pass_before_the_second_means_left_withdraws_it() -> None:
    program = _live()
    one = Obligation.objects.get(closed_on__isnull=True).its_assembly
    happened(one, (("passed", on(6)),), as_of=on(6))
    run(program, 7)
    assert Delivery.objects.get(channel="door").state == "withdrawn"
    with pytest.raises(Refused):
        make_run(program=program, channel="door", day=at(program, 8), hand=hand(8))
