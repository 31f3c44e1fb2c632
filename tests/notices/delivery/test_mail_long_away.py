"""A mail server away for days, and paper that left beside an e-mail that bounced."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import pytest

from notices.actions.clocks import Day
from notices.delivery.bounce_reading import read_bounce
from notices.delivery.bouncing import Heard, take_bounce
from notices.delivery.paper_runs import mail_run, make_run
from notices.models import Delivery, DeliveryTry, Letter, Notice
from registry.changes import Hand
from scheduling.models import Obligation
from tests.notices.delivery.posts import (
    NOON,
    Sink,
    by_mail,
    free_port,
    mail_server,
    mailing_office,
    overdue_owner,
    run_first_day,
    send,
    set_up,
    the_letter,
    the_mail,
)
from tests.notices.delivery.test_bounces import report, token_of_mail
from tests.notices.offices import START, happened, office

pytestmark = [pytest.mark.django_db, pytest.mark.database]

LETTERS = 23  # more than one batch
DAY = timedelta(days=1)


def states() -> Counter[tuple[str, str]]:
    return Counter(Delivery.objects.values_list("channel", "state"))


def test_with_the_server_away_every_letter_is_paper_after_three_days() -> None:
    # RFC 5321 4.5.4.1 has a server give up after four to five days; three are our own figure.
    with set_up(free_port()):
        program = mailing_office()
        for number in range(1, LETTERS + 1):
            overdue_owner(program, number)
        run_first_day(program)
        passed = Notice.objects.order_by("-pk")[0].assembly
        assert passed is not None
        for at in (NOON, NOON + 2 * DAY):
            assert send(program, at=at).fault
            assert states() == {("e-mail", "waiting"): LETTERS}
        assert DeliveryTry.objects.count() == 2  # a wake-up tries one and lets the rest be
        happened(passed, (("passed", START + 2 * DAY),), as_of=START + 2 * DAY)
        sent = send(program, at=NOON + 3 * DAY + timedelta(minutes=10))
    assert (sent.paper, sent.withdrawn) == (LETTERS - 1, 1)
    assert states() == {
        ("e-mail", "failed"): LETTERS - 1,
        ("e-mail", "withdrawn"): 1,
        ("mail", "waiting"): LETTERS - 1,
    }
    untried = Delivery.objects.filter(tries=0, state="failed").first()
    assert untried is not None
    assert untried.detail.startswith("No server took it in three days. ConnectionRefusedError")
    assert Letter.objects.filter(state="leaving").count() == LETTERS - 1


def test_a_server_that_comes_back_within_three_days_gets_them_all() -> None:
    with set_up(free_port()):
        program = mailing_office()
        for number in range(1, LETTERS + 1):
            overdue_owner(program, number)
        run_first_day(program)
        send(program)
    sink = Sink()
    with mail_server(sink):
        assert send(program, at=NOON + 2 * DAY).taken == LETTERS
    assert sorted(sink.ids) == sorted(Delivery.objects.values_list("message_id", flat=True))
    assert states() == {("e-mail", "left"): LETTERS}


def test_a_bounce_of_what_left_on_paper_too_leaves_the_paper_s_day_as_it_was() -> None:
    with mail_server(Sink()):
        program = office(is_trial=False, go_live_on=START)
        by_mail("first-overdue", also_by=("certified",))
        overdue_owner(program)
        run_first_day(program)
        send(program)
    later = START + 2 * DAY
    day, hand = Day(program=program, on=later, at=NOON + 2 * DAY), Hand(by="Ada", at=NOON + 2 * DAY)
    run = make_run(program=program, channel="certified", day=day, hand=hand)
    mail_run(run, on=later, day=day, hand=hand)
    raw = report(token_of_mail())
    found = read_bounce(raw)
    assert found is not None
    assert take_bounce(found, source=raw.decode(), at=NOON + 3 * DAY) is Heard.FAILED
    # The certified letter was given; its rung's clock runs from its day, and at once.
    assert (the_letter().state, the_letter().left_on) == ("left", later)
    assert Notice.objects.get().left_on == later
    assert Obligation.objects.get().next_action_on == later + 14 * DAY
    assert the_mail().state == "failed"
    assert states() == {("e-mail", "failed"): 1, ("certified", "left"): 1}
