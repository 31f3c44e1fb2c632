"""Servers that hang, say "later" or refuse at each stage, and text that tries to be a header."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from email import message_from_bytes
from email.policy import default

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client

from notices.delivery.messages import message_of
from notices.models import Delivery, MailStop
from registry.models import Membership, Party, Premises
from tests.notices.delivery.posts import (
    NOON,
    Sink,
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
from tests.notices.offices import START, office

pytestmark = pytest.mark.django_db

STAGES = ("greeting", "sender", "recipient", "data", "message")


@contextmanager
def hanging_server(stage: str) -> Iterator[int]:
    """A server that answers up to a stage and then says nothing, keeping the line open."""
    listening, over = socket.create_server(("127.0.0.1", 0)), threading.Event()
    asks = {b"MAIL": "sender", b"RCPT": "recipient", b"DATA": "data"}

    def talk(line: socket.socket) -> None:
        with line, line.makefile("rb") as said:
            if stage != "greeting":
                line.sendall(b"220 hello\r\n")
                for raw in said:
                    asked = asks.get(raw[:4].upper(), "")
                    if asked == stage:
                        break
                    line.sendall(b"354 go on\r\n" if asked == "data" else b"250 OK\r\n")
                    if asked == "data":
                        break
            over.wait(10)

    def serve() -> None:
        while not over.is_set():
            try:
                line, _ = listening.accept()
            except OSError:
                return
            threading.Thread(target=talk, args=(line,), daemon=True).start()

    worker = threading.Thread(target=serve, daemon=True)
    worker.start()
    try:
        yield listening.getsockname()[1]
    finally:
        over.set()
        listening.shutdown(socket.SHUT_RDWR)
        listening.close()
        worker.join(5)


@pytest.mark.parametrize("stage", STAGES)
def test_a_server_that_hangs_is_given_up_after_the_time_set_and_no_letter_is_lost(
    stage: str,
) -> None:
    with hanging_server(stage) as port, set_up(port, EMAIL_TIMEOUT=0.3):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        began = time.monotonic()
        sent = send(program)
        assert time.monotonic() - began < 5
    assert sent.taken == 0
    assert the_mail().state == "waiting"
    log = the_mail().log.get()
    # Until the text has gone over it has not left; after that nobody can say.
    assert log.outcome == ("unknown" if stage in ("data", "message") else "later")
    assert re.search("[Tt]imed ?out", log.words)
    sink = Sink()
    with mail_server(sink):
        assert send(program, at=NOON + minutes(5)).taken == 1
    assert sink.ids == [the_mail().message_id]


@pytest.mark.parametrize(
    ("sink", "outcomes"),
    [
        (Sink(to_recipient={"owner1@example.org": "450 4.2.0 greylisted"}), ["later", "taken"]),
        (Sink(to_recipient={"owner1@example.org": "452 4.2.2 mailbox full"}), ["later", "taken"]),
        (Sink(to_data=["452 4.3.1 no room"]), ["later", "taken"]),
        (Sink(to_sender="451 4.7.1 try again"), ["later", "taken"]),
    ],
    ids=["grey", "full", "no room", "sender"],
)
def test_later_at_any_stage_and_then_yes_is_one_letter_under_one_name(
    sink: Sink, outcomes: list[str]
) -> None:
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        send(program)
        sink.to_recipient, sink.to_sender = {}, ""
        assert send(program, at=NOON + minutes(5)).taken == 1
    assert [one.outcome for one in the_mail().log.all()] == outcomes
    assert sink.ids == [the_mail().message_id]
    assert the_letter().state == "left"


@pytest.mark.parametrize(
    ("sink", "stops"),
    [
        (Sink(to_recipient={"owner1@example.org": "550 5.1.1 unknown user"}), 1),
        (Sink(to_recipient={"owner1@example.org": "550 no such user here"}), 1),
        (Sink(to_recipient={"owner1@example.org": "550 5.7.1 relaying denied"}), 0),
        (Sink(to_data=["550 5.7.1 content rejected"]), 0),
        (Sink(to_data=["552 5.3.4 message too big"]), 0),
    ],
    ids=["unknown", "without a status", "relaying", "at DATA", "too big"],
)
def test_a_refusal_becomes_paper_and_both_stand_in_the_record(sink: Sink, stops: int) -> None:
    with mail_server(sink):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        assert send(program).paper == 1
        assert send(program, at=NOON + timedelta(days=1)).taken == 0
    states = dict(Delivery.objects.order_by("pk").values_list("channel", "state"))
    assert states == {"e-mail": "failed", "mail": "waiting"}
    assert the_mail().log.get().code in {"550", "552"}
    assert MailStop.objects.count() == stops
    assert the_letter().state == "leaving"  # paper has not left yet


# --- the mail test --------------------------------------------------------------------------------


@pytest.fixture
def clerk() -> Client:
    program = office(is_trial=False, go_live_on=START)
    user = get_user_model().objects.create_user(username="ada", password="x", last_name="Birch")
    Membership.objects.create(user=user, role="administrator", program=program)
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.parametrize("stage", STAGES)
def test_the_mail_test_says_where_it_timed_out_and_claims_no_more_than_it_knows(
    clerk: Client, stage: str
) -> None:
    with hanging_server(stage) as port, set_up(port, EMAIL_TIMEOUT=0.3):
        page = clerk.post("/p/flats/mail/test/", {"address": "ada@example.org"}).content.decode()
    assert re.search("[Tt]imed ?out", page)
    is_open = stage in ("data", "message")
    assert ("It is not known whether it was sent." in page) == is_open
    assert ("Nothing was sent." in page) != is_open
    assert "took the message" not in page


# --- text that tries to be a header ---------------------------------------------------------------

BREAKS = {
    "CR LF": "\r\n",
    "LF": "\n",
    "CR": "\r",
    "folded": "\r\n ",
    "folded by a tab": "\r\n\t",
    "next line": "\u0085",
    "line separator": "\u2028",
    "paragraph separator": "\u2029",
    "vertical tab": "\x0b",
    "form feed": "\x0c",
    "file separator": "\x1c",
    "NUL": "\x00",
}


@pytest.mark.parametrize("broken", BREAKS.values(), ids=BREAKS)
def test_no_line_end_in_a_name_or_street_or_office_adds_a_header(broken: str) -> None:
    evil = f"Larch{broken}Bcc: other@example.org{broken}X-Evil: yes{broken}{broken}Body"
    stored = evil.replace("\x00", "")  # no column of ours takes it
    said = evil if connection.vendor == "sqlite" else stored  # nor PostgreSQL's JSON
    between = broken if connection.vendor == "sqlite" else broken.replace("\x00", "")
    with mail_server(Sink()):
        program = mailing_office(
            letterhead={"name": said, "email": f"o@e.example{between}Bcc: b@e.example"}
        )
        party = overdue_owner(program)
        Party.objects.filter(pk=party.pk).update(name=stored)
        Premises.objects.update(address=f"1 {stored}")
        run_first_day(program)
        delivery = the_mail()
        sent = message_of(delivery, at=NOON).as_bytes()
    message = message_from_bytes(sent, policy=default)
    heads = [name.lower() for name in message]
    assert not {"bcc", "x-evil", "cc"} & set(heads)
    assert len(heads) == len(set(heads))
    assert [one.addr_spec for one in message["To"].addresses] == ["owner1@example.org"]
    assert len(message["From"].addresses) == 1
    lines = sent.partition(b"\r\n\r\n")[0].split(b"\r\n")
    assert all(b"\n" not in line and b"\r" not in line for line in lines)
    # RFC 5322 2.1.1: no line of a message is longer than 998 characters.
    assert max(map(len, sent.split(b"\r\n"))) <= 998


@pytest.mark.parametrize("broken", [one for one in BREAKS.values() if one != "\x00"])
def test_no_line_end_in_an_address_reaches_a_second_recipient(broken: str) -> None:
    sink = Sink()
    with mail_server(sink):
        program = mailing_office()
        party = overdue_owner(program)
        typed = f"a@b.example{broken}RCPT TO:<x@y.example>"
        Party.objects.filter(pk=party.pk).update(email=typed)
        run_first_day(program)
        send(program)
    assert all(recipients == ["a@b.example"] for _, recipients in sink.envelopes)
    assert Delivery.objects.count() == 1
