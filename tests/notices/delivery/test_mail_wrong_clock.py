"""E-mail while the machine's clock stands wrong, and after it was set right."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db.models.functions import Now

from notices.delivery.outbox import LEASE
from notices.models import Delivery, Letter
from tests.notices.delivery.posts import (
    NOON,
    Sink,
    mail_server,
    mailing_office,
    overdue_owner,
    run_first_day,
    send,
    the_letter,
    the_mail,
)
from tests.notices.offices import START

pytestmark = [pytest.mark.django_db, pytest.mark.database]

DAY = timedelta(days=1)


def test_nothing_leaves_on_a_day_before_the_last_that_was_run() -> None:
    sink = Sink()
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        back = send(program, at=NOON - 3 * DAY)
        assert (back.taken, sink.taken) == (0, [])
        assert back.kept_in == (
            "the clock says 2026-01-02, and 2026-01-05 was run before: one of the two is wrong."
        )
        assert the_mail().tries == 0
        assert send(program).taken == 1
    assert the_letter().left_on == START >= Letter.objects.get().composed_on


def test_a_pause_set_by_a_clock_that_ran_ahead_holds_nothing_once_it_is_right() -> None:
    sink = Sink(to_data=["451 4.3.0 busy", "451 4.3.0 busy"])
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        assert send(program, at=NOON + 365 * DAY).later == 1  # the clock is a year ahead
        assert send(program, at=NOON).later == 1
        row = the_mail()
        assert row.not_before == NOON + timedelta(minutes=20)  # the pause after a second try
        assert row.first_tried_at == NOON  # three days count from now
        assert send(program, at=NOON + timedelta(minutes=19)).taken == 0
        assert send(program, at=NOON + timedelta(minutes=20)).taken == 1
    assert (the_letter().state, the_letter().left_on) == ("left", START)


@pytest.mark.parametrize(("ahead", "taken"), [(LEASE, 0), (365 * DAY, 1)])
def test_a_claim_that_ends_later_than_any_can_is_no_claim(ahead: timedelta, taken: int) -> None:
    with mail_server(Sink()):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        Delivery.objects.update(claim="dead", claimed_until=Now() + ahead)
        assert send(program).taken == taken
