"""E-mail against a real server: what is taken, tried again, refused, or goes on paper."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

import pytest

from notices.delivery.outbox import send_waiting
from notices.delivery.smtp import Answer
from notices.domain.deliveries import TryOutcome
from notices.models import Delivery, DeliveryTry, Letter, MailStop, Notice
from registry.models import Party, Question
from scheduling.models import Obligation
from tests.notices.delivery.posts import (
    NOON,
    Sink,
    by_mail,
    mail_server,
    mailing_office,
    minutes,
    overdue_owner,
    run_first_day,
    send,
    set_up,
    the_letter,
    the_mail,
)
from tests.notices.offices import START, happened, office

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_a_letter_by_mail_has_left_when_the_server_took_it() -> None:
    sink = Sink()
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        assert (the_letter().state, Notice.objects.get().left_on) == ("leaving", None)
        assert send(program).taken == 1
    letter = the_letter()
    assert (letter.state, letter.left_on) == ("left", START)
    assert Notice.objects.get().left_on == START
    assert Obligation.objects.get().next_action_on == START + timedelta(days=14)
    assert the_mail().log.get().outcome == "taken"
    assert sink.ids == [the_mail().message_id]


def test_the_message_is_the_letter_in_text_page_and_kept_bytes() -> None:
    sink = Sink()
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        send(program)
    (message,), letter = sink.taken, the_letter()
    text, page = message.get_body(("plain",)), message.get_body(("html",))
    (attached,) = message.iter_attachments()
    assert text is not None
    assert page is not None
    for line in letter.content["headline"]:
        assert line in text.get_content().replace("\n", " ")
        assert line.split(".")[0] in page.get_content()
    assert attached.get_content_type() == "application/pdf"
    assert attached.get_content() == bytes(letter.file.pdf)
    assert message["To"] == "Owner 1 <owner1@example.org>"
    assert message["Auto-Submitted"] == "auto-generated"
    sender, recipients = sink.envelopes[0]
    token = the_mail().message_id.strip("<>").partition("@")[0]
    assert sender == f"bounces+{token}@waterclerk.example"
    assert recipients == ["owner1@example.org"]


def test_only_a_reminder_can_be_declined() -> None:
    sink = Sink()
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program, 1)
        party = overdue_owner(program, 2)
        soon = Obligation.objects.get(assembly__premises__parties=party).assembly
        assert soon is not None
        happened(soon, (("passed", START - timedelta(days=345)),), as_of=START)
        run_first_day(program)
        send(program)
    kinds = {
        letter.kind: next(m for m in sink.taken if letter.number in m.as_string())
        for letter in Letter.objects.all()
    }
    assert set(kinds) == {"first-overdue", "reminder"}
    assert kinds["first-overdue"]["List-Unsubscribe"] is None
    # RFC 8058 3.1: both headers, one https address, and exactly this value.
    assert kinds["reminder"]["List-Unsubscribe"].endswith("/reminders>")
    assert kinds["reminder"]["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"


def test_a_server_that_says_later_is_asked_again_after_growing_pauses() -> None:
    sink = Sink(to_data=["451 4.3.0 busy", "451 4.3.0 busy"])
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        assert send(program).later == 1
        assert send(program, at=NOON + minutes(4)).later == 0  # it pauses
        assert send(program, at=NOON + minutes(5)).later == 1
        assert send(program, at=NOON + minutes(24)).taken == 0
        assert send(program, at=NOON + minutes(25)).taken == 1
    assert [one.outcome for one in the_mail().log.all()] == ["later", "later", "taken"]
    assert [one.code for one in the_mail().log.all()][:2] == ["451", "451"]
    assert sink.ids == [the_mail().message_id]


def test_what_nobody_takes_in_three_days_goes_on_paper() -> None:
    sink = Sink(to_data=["451 4.3.0 busy"] * 40)
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        for hours in range(0, 80, 2):
            send(program, at=NOON + timedelta(hours=hours))
    states = {one.channel: one.state for one in Delivery.objects.all()}
    assert states == {"e-mail": "failed", "mail": "waiting"}
    assert the_letter().state == "leaving"
    assert not MailStop.objects.exists()  # the address did no wrong


def test_a_refused_recipient_becomes_paper_at_once_and_the_address_is_stopped() -> None:
    sink = Sink(to_recipient={"owner1@example.org": "550 5.1.1 no such mailbox"})
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program, 1)
        overdue_owner(program, 2)
        run_first_day(program)
        sent = send(program)
    assert (sent.paper, sent.taken) == (1, 1)
    failed = Delivery.objects.get(state="failed")
    paper = Delivery.objects.get(channel="mail")
    assert failed.detail == "5.1.1 no such mailbox"
    assert (paper.came_from, paper.state) == (failed, "waiting")
    assert "5.1.1 no such mailbox" in paper.detail
    assert MailStop.objects.get().address == "owner1@example.org"


def test_a_refusal_by_policy_does_not_stop_the_address() -> None:
    sink = Sink(to_data=["554 5.7.1 message looks like spam"])
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        assert send(program).paper == 1
    assert not MailStop.objects.exists()


def test_a_server_that_refuses_our_sender_harms_no_letter_and_is_told_to_a_person() -> None:
    sink = Sink(to_sender="550 5.7.1 sender not allowed")
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program, 1)
        overdue_owner(program, 2)
        run_first_day(program)
        sent = send(program)
        assert sent.fault == "550 5.7.1 sender not allowed"
        assert "5.7.1 sender not allowed" in Question.objects.get().text
        assert set(Delivery.objects.values_list("state", flat=True)) == {"waiting"}
        assert DeliveryTry.objects.count() == 1  # the rest was not tried in vain
        sink.to_sender = ""
        assert send(program, at=NOON + minutes(5)).taken == 2
    assert Question.objects.get().settled_by == "the outbox"


def test_a_server_that_is_away_harms_no_letter() -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with set_up(port):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        sent = send(program)
    assert "ConnectionRefusedError" in sent.fault
    assert the_mail().state == "waiting"


@contextmanager
def _silent_after_the_message() -> Iterator[int]:
    """A server that reads the message and then hangs up without an answer."""
    listening = socket.create_server(("127.0.0.1", 0))

    def serve() -> None:
        while True:
            try:
                line, _ = listening.accept()
            except OSError:
                return
            with line, line.makefile("rb") as said:
                line.sendall(b"220 hello\r\n")
                for raw in said:
                    if raw.upper().startswith(b"DATA"):
                        line.sendall(b"354 go on\r\n")
                        for text in said:
                            if text == b".\r\n":
                                break
                        break
                    line.sendall(b"250 OK\r\n")

    worker = threading.Thread(target=serve, daemon=True)
    worker.start()
    try:
        yield listening.getsockname()[1]
    finally:
        listening.shutdown(socket.SHUT_RDWR)
        listening.close()
        worker.join(5)


def test_silence_after_the_message_is_repeated_and_at_the_third_time_asked_of_a_person() -> None:
    with _silent_after_the_message() as port, set_up(port):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        assert send(program).later == 1
        assert send(program, at=NOON + minutes(5)).later == 1
        assert send(program, at=NOON + minutes(40)).held == 1
        assert send(program, at=NOON + minutes(400)).held == 0  # nothing more by itself
    mail = the_mail()
    assert (mail.state, mail.tries) == ("held", 3)
    assert [one.outcome for one in mail.log.all()] == ["unknown"] * 3
    assert "may have left" in Question.objects.get().text


def test_a_pass_before_the_try_withdraws_the_letter() -> None:
    sink = Sink()
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        one = Notice.objects.get().assembly
        assert one is not None
        happened(one, (("passed", START),), as_of=START)
        assert send(program).taken == 0
    assert (the_letter().state, the_mail().state) == ("withdrawn", "withdrawn")
    assert sink.taken == []


def test_a_letter_by_two_channels_has_left_when_both_have() -> None:
    sink = Sink()
    with mail_server(sink):
        program = office(is_trial=False, go_live_on=START)
        by_mail("first-overdue", also_by=("certified",))
        overdue_owner(program)
        run_first_day(program)
        assert send(program).taken == 1
    states = {one.channel: one.state for one in Delivery.objects.all()}
    assert states == {"e-mail": "left", "certified": "waiting"}
    assert (the_letter().state, Notice.objects.get().left_on) == ("leaving", None)


@pytest.mark.parametrize(
    "address", ["a@b.example\r\nBcc: x@y.example", "a b@c.example", "a@", "x" * 300 + "@a.example"]
)
def test_an_address_that_cannot_be_written_to_gets_paper(address: str) -> None:
    with mail_server(Sink()):
        program = mailing_office()
        party = overdue_owner(program)
        Party.objects.filter(pk=party.pk).update(email=address[:254])
        run_first_day(program)
    delivery = Delivery.objects.get()
    assert (delivery.channel, delivery.address) in {("mail", ""), ("e-mail", "a@b.example")}


def test_no_name_can_add_a_header_or_a_recipient() -> None:
    sink = Sink()
    evil = 'Eve\r\nBcc: other@example.org\r\n"X" <y@example.org>, \u2028z@example.org'
    with mail_server(sink):
        program = mailing_office(
            letterhead={"name": "Flats\r\nBcc: b@example.org", "email": "c@e.org\r\nBcc: d@e.org"}
        )
        party = overdue_owner(program)
        Party.objects.filter(pk=party.pk).update(name=evil)
        run_first_day(program)
        send(program)
    (message,) = sink.taken
    assert sink.envelopes[0][1] == ["owner1@example.org"]
    assert message["Bcc"] is None
    assert len(message["To"].addresses) == 1
    assert len(message["From"].addresses) == 1


class _Answers:
    """A post that answers as told; hand-written, for what no real server does on demand."""

    def __init__(self, *answers: Answer) -> None:
        self.answers = list(answers)

    def post(self, message: Any, *, sender: str, recipient: str) -> Answer:
        return self.answers.pop(0)


def test_a_worker_that_lost_its_claim_sends_nothing_of_it() -> None:
    with mail_server(Sink()):
        program = mailing_office()
        overdue_owner(program, 1)
        overdue_owner(program, 2)
        run_first_day(program)

        class Thief(_Answers):
            def post(self, message: Any, *, sender: str, recipient: str) -> Answer:
                Delivery.objects.filter(state="waiting").update(claim="another worker's")
                return super().post(message, sender=sender, recipient=recipient)

        taken = Answer(outcome=TryOutcome.TAKEN, code="250")
        sent = send_waiting(program=program, clock=lambda: NOON, server=Thief(taken))
    assert sent.taken == 1
    assert Delivery.objects.filter(state="waiting", tries=0).count() == 1
