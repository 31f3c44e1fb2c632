"""A mailing said wrongly is taken back: all stands as before, until something was built on it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.serializers.json import DjangoJSONEncoder
from django.test import Client

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.actions.returned import enter_returned
from notices.delivery.paper_runs import mail_run, make_run
from notices.domain.returns import CameBack
from notices.models import Delivery, Letter, LetterNotice, Notice, PaperRun
from registry.changes import Hand
from registry.console import Refused
from registry.models import Change, Program
from reports.actions.mailing_taken_back import take_back
from reports.ledger.checking import differences
from reports.ledger.sealing import seal
from scheduling.models import Obligation
from tests.notices.delivery.posts import (
    NOON,
    Sink,
    by_mail,
    mail_server,
    overdue_owner,
    run_first_day,
    send,
)
from tests.notices.delivery.test_paper_runs import HAND, clerk, day, live, run_of
from tests.notices.ladders.story import Story
from tests.notices.offices import AT, START, happened

__all__ = ["clerk"]  # a fixture

pytestmark = [pytest.mark.django_db, pytest.mark.database]

WRONG = Hand(by="Ada Birch", at=NOON, reason="It still lies on the desk.")
DAYS = timedelta(days=1)


def state(on: date = START) -> dict[str, list[Any]]:
    """What a mailing changes, but for the words that tell of it.

    A next day that has come means the same, whichever it is: look at it today.
    """
    encoder = DjangoJSONEncoder(sort_keys=True)
    tables = (Delivery, Letter, LetterNotice, Notice, Obligation, PaperRun)
    return {
        model.__name__: [
            encoder.encode({k: _coming(v, on=on, name=k) for k, v in row.items() if k != "detail"})
            for row in model._default_manager.order_by("pk").values()
        ]
        for model in tables
    }


def _coming(value: Any, *, on: date, name: str) -> Any:
    return max(value, on) if name == "next_action_on" and value is not None else value


def test_taken_back_all_stands_as_before_and_the_right_day_can_be_said() -> None:
    program = live()
    run = run_of(program)
    before = state()
    mail_run(run, on=START, day=day(program), hand=HAND)
    assert state() != before
    run.refresh_from_db()
    assert take_back(run, day=day(program), hand=WRONG) == 3
    assert state() == before
    change = Change.objects.filter(what="paper run").first()
    assert change is not None
    assert (change.before["mailed_on"], change.reason) == ("2026-01-05", WRONG.reason)
    right = START + 2 * DAYS
    run.refresh_from_db()
    assert len(mail_run(run, on=right, day=day(program, 2), hand=HAND)) == 3
    assert set(Notice.objects.values_list("left_on", flat=True)) == {right}
    nexts = set(Obligation.objects.values_list("next_action_on", flat=True))
    assert nexts == {right + 14 * DAYS}
    seal(program, on=right, at=NOON + 2 * DAYS)
    assert list(differences(program)) == []


def test_a_letter_called_too_late_by_a_wrong_day_stands_again() -> None:
    # As in tests/notices/ladders/test_mailed_late.py: composed on 16 July, the last notice names
    # 30 July. Said to be mailed on 20 July it is too late; it was mailed on the 16th.
    story = Story("placer-style")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.runs(date(2026, 6, 16))
    story.mails(date(2026, 6, 16))
    story.runs(date(2026, 7, 16))
    program, late = story.program, date(2026, 7, 20)
    then = Day(program=program, on=late, at=AT)
    sixteenth = Day(program=program, on=date(2026, 7, 16), at=AT)
    channel = Delivery.objects.filter(state="waiting").values_list("channel", flat=True)[0]
    run = make_run(program=program, channel=channel, day=sixteenth, hand=HAND)
    before = state(late)
    mail_run(run, on=late, day=then, hand=HAND)
    assert Letter.objects.get(kind="final").ended_reason.startswith("Mailed late")
    run.refresh_from_db()
    take_back(run, day=then, hand=WRONG)
    assert state(late) == before
    run.refresh_from_db()
    mail_run(run, on=sixteenth.on, day=then, hand=HAND)
    final = Letter.objects.get(kind="final")
    assert (final.left_on, final.ended_reason) == (sixteenth.on, "")
    assert Notice.objects.get(rung="second-notice").left_on == sixteenth.on
    story.runs(date(2026, 7, 21))
    assert not Letter.objects.filter(predecessor=final).exists()


def test_one_that_had_fallen_away_is_fallen_away_again_and_an_e_mail_stays_sent() -> None:
    with mail_server(Sink()):
        program = live()
        by_mail("first-overdue", also_by=("certified",))
        overdue_owner(program, 1)
        overdue_owner(program, 2)
        run_first_day(program)
        send(program)
    run = make_run(program=program, channel="certified", day=day(program), hand=HAND)
    gone = Notice.objects.order_by("pk")[0].assembly
    assert gone is not None
    happened(gone, (("passed", START),), as_of=START)
    with pytest.raises(Refused, match="fell away"):
        mail_run(run, on=START, day=day(program), hand=HAND)
    before = state()
    also = [Delivery.objects.get(channel="certified", state="withdrawn").pk]
    mail_run(run, on=START, day=day(program), hand=HAND, also=also)
    run.refresh_from_db()
    take_back(run, day=day(program), hand=WRONG)
    assert state() == before
    assert set(Delivery.objects.filter(channel="e-mail").values_list("state", flat=True)) == {
        "left"
    }


def mailed_run(**changes: object) -> tuple[Program, PaperRun]:
    program = live(**changes)
    run = run_of(program, owners=2)
    mail_run(run, on=START, day=day(program), hand=HAND)
    run.refresh_from_db()
    return program, run


def test_once_a_later_letter_counts_from_it_it_stands() -> None:
    program, run = mailed_run()
    later = START + 14 * DAYS
    run_day(program=program, as_of=later, now=NOON + 14 * DAYS)
    assert Notice.objects.filter(rung="second-overdue").exists()
    before = state()
    with pytest.raises(Refused, match="A later letter counted its days"):
        take_back(run, day=day(program, 14), hand=WRONG)
    assert state() == before


def test_once_a_letter_of_it_came_back_it_stands() -> None:
    program, run = mailed_run()
    number = Letter.objects.order_by("pk")[0].number
    enter_returned(
        number, how=CameBack.REFUSED, came_back_on=START, words="", day=day(program), hand=HAND
    )
    with pytest.raises(Refused, match="came back"):
        take_back(run, day=day(program), hand=WRONG)


def test_once_it_is_sealed_in_the_ledger_it_stands() -> None:
    program, run = mailed_run()
    seal(program, on=START, at=NOON)
    before = state()
    with pytest.raises(Refused, match="The ledger has sealed"):
        take_back(run, day=day(program), hand=WRONG)
    assert state() == before


def test_it_takes_a_reason_and_a_run_that_was_said_to_be_mailed() -> None:
    program, run = mailed_run()
    with pytest.raises(Refused, match="Write what was wrong"):
        take_back(run, day=day(program), hand=HAND)
    take_back(run, day=day(program), hand=WRONG)
    with pytest.raises(Refused, match="Nobody said"):
        take_back(run, day=day(program), hand=WRONG)


def test_the_page_takes_it_back_and_tells_what_was_done(clerk: Client) -> None:
    program = Program.objects.get()
    run = run_of(program, owners=1)
    where = f"/p/flats/paper/{run.pk}/"
    clerk.post(f"{where}spoiled/", {"first": "1", "last": "1", "why": "jam"})
    clerk.post(f"{where}mailed/", {"on": START.isoformat(), "all_the_same": "yes"})
    page = clerk.get(where).content.decode()
    assert "It was not mailed on that day" in page
    assert "letters 1 to 1 were spoiled and printed again: jam." in page
    said = clerk.post(f"{where}mailed/", {"on": "2025-12-31", "all_the_same": "yes"}, follow=True)
    assert "mailed from January 5, 2026, when it was made" in said.content.decode().replace(
        "\u00a0", " "
    )
    told = clerk.post(f"{where}not-mailed/", {"reason": "typed the wrong day"}, follow=True)
    page = told.content.decode()
    assert "1 letter waits until you say when it was mailed." in page
    assert "“Mailed January 5, 2026” was taken back: typed the wrong day." in page.replace(
        "\u00a0", " "
    ).replace("&nbsp;", " ")
    assert Letter.objects.get().state == "leaving"
    assert PaperRun.objects.get().mailed_on is None
