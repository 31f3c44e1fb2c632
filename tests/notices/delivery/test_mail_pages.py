"""The mail test in the server's own words, reminders on paper, and a person's decision."""

from __future__ import annotations

import ssl
import subprocess
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.smtp import AuthResult
from django.contrib.auth import get_user_model
from django.test import Client

from notices.links import token_of
from notices.models import Delivery, Letter, MailStop, Notice
from registry.models import Change, Membership, Program, Question
from tests.notices.delivery.posts import (
    NOON,
    Sink,
    by_mail,
    free_port,
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


@pytest.fixture
def clerk() -> Client:
    """An administrator of the office, logged in."""
    program = office(is_trial=False, go_live_on=START)
    user = get_user_model().objects.create_user(username="ada", password="x", last_name="Birch")
    Membership.objects.create(user=user, role="administrator", program=program)
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def tried(client: Client, address: str = "ada@example.org") -> str:
    page = client.post("/p/flats/mail/test/", {"address": address})
    assert page.status_code == 200
    return page.content.decode().replace("&#x27;", "'").replace("&quot;", '"')


def test_a_good_server_takes_the_message_and_no_more_is_claimed(clerk: Client) -> None:
    sink = Sink()
    with mail_server(sink):
        page = tried(clerk)
    assert "The server took the message." in page
    assert "250 2.0.0 taken" in page
    assert "was sent" not in page.replace("Nothing was sent", "")
    assert [message["To"] for message in sink.taken] == ["ada@example.org"]


@pytest.mark.parametrize(
    ("sink", "words"),
    [
        (Sink(to_sender="553 5.7.1 that sender is not yours"), "553 5.7.1 that sender is not"),
        (Sink(to_recipient={"ada@example.org": "550 5.1.1 who is that"}), "550 5.1.1 who is that"),
        (Sink(to_data=["554 5.6.0 not like this"]), "554 5.6.0 not like this"),
    ],
    ids=["sender", "recipient", "message"],
)
def test_a_refusal_is_shown_in_the_servers_own_words(clerk: Client, sink: Sink, words: str) -> None:
    with mail_server(sink):
        page = tried(clerk)
    assert words in page
    assert "Nothing was sent." in page
    assert "took the message" not in page


def test_a_wrong_host_is_told_and_nothing_was_sent(clerk: Client) -> None:
    with set_up(free_port()):
        page = tried(clerk)
    assert "ConnectionRefusedError" in page
    assert "Nothing was sent." in page
    with set_up(25, EMAIL_HOST="no-such-host.invalid"):
        page = tried(clerk)
    assert "gaierror" in page
    assert "Nothing was sent." in page


def test_a_server_without_encryption_or_with_a_strange_certificate_gets_nothing(
    clerk: Client, tmp_path: Path
) -> None:
    sink = Sink()
    with mail_server(sink) as port, set_up(port, EMAIL_USE_TLS=True):
        page = tried(clerk)
    assert "STARTTLS extension not supported by server" in page
    with (
        mail_server(sink, tls_context=_own_certificate(tmp_path)) as port,
        set_up(port, EMAIL_USE_TLS=True),
    ):
        page = tried(clerk)
    assert "CERTIFICATE_VERIFY_FAILED" in page
    assert "Nothing was sent." in page
    assert sink.taken == []


def _own_certificate(folder: Path) -> ssl.SSLContext:
    key, certificate = folder / "key.pem", folder / "certificate.pem"
    subprocess.run(
        [
            *("openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"),
            *("-subj", "/CN=localhost", "-keyout", str(key), "-out", str(certificate)),
        ],
        check=True,
        capture_output=True,
    )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    return context


def test_a_wrong_password_is_told_in_the_servers_own_words(clerk: Client) -> None:
    def never(*_args: Any) -> AuthResult:
        return AuthResult(success=False, handled=False, message="535 5.7.8 wrong password")

    with (
        mail_server(Sink(), authenticator=never, auth_require_tls=False) as port,
        set_up(port, EMAIL_HOST_USER="office", EMAIL_HOST_PASSWORD="secret-word"),
    ):
        page = tried(clerk)
    assert "535 5.7.8" in page
    assert "Nothing was sent." in page
    assert "secret-word" not in page


@pytest.mark.parametrize("typed", ["", "a b", "a@b.example\r\nBcc: c@d.example extra@"])
def test_an_address_that_is_none_is_told_or_cut_to_one(clerk: Client, typed: str) -> None:
    sink = Sink()
    with mail_server(sink):
        tried(clerk, typed)
    assert all(recipients == ["a@b.example"] for _, recipients in sink.envelopes)


def test_without_a_server_nothing_is_tried(clerk: Client) -> None:
    assert "No mail server is set up, so nothing was tried." in tried(clerk)


# --- reminders on paper -------------------------------------------------------------------


def a_mailed_letter() -> Letter:
    with mail_server(Sink()):
        program = mailing_office("hills")
        overdue_owner(program)
        run_first_day(program)
        send(program)
    return the_letter()


def test_looking_at_the_link_changes_nothing_and_the_post_stops_reminders_only() -> None:
    letter = a_mailed_letter()
    where = f"/o/{token_of(program_code='hills', number=letter.number)}/reminders"
    for _ in range(20):  # a mail scanner opens every link
        assert Client().get(where).status_code == 200
    assert not MailStop.objects.exists()
    # What a mail program posts, RFC 8058 3.2: no cookie, no page before it.
    client = Client(enforce_csrf_checks=True)
    assert client.post(where, {"List-Unsubscribe": "One-Click"}).status_code == 200
    client.post(where)
    stop = MailStop.objects.get()
    assert (stop.address, stop.is_courtesy_only) == ("owner1@example.org", True)
    assert "come on paper" in client.get(where).content.decode()
    assert "en papel" in client.get(where + "?lang=es").content.decode()


def test_who_declined_reminders_still_gets_lawful_notices_by_mail() -> None:
    program = mailing_office("hills")
    by_mail("second-overdue")
    MailStop.objects.create(
        program=program, address="owner1@example.org", is_courtesy_only=True, since_at=NOON
    )
    overdue_owner(program)
    with mail_server(Sink()):
        run_first_day(program)
    assert [one.channel for one in Delivery.objects.all()] == ["e-mail"]


def test_a_strange_link_is_not_there() -> None:
    assert Client().get("/o/nobody/reminders").status_code == 404


# --- a person decides ----------------------------------------------------------------------


@pytest.fixture
def held(clerk: Client) -> Program:
    """An e-mail that a person must decide about."""
    program = Program.objects.get(code="flats")
    by_mail("first-overdue")
    with mail_server(Sink()):
        overdue_owner(program)
        run_first_day(program)
    Delivery.objects.update(state="going", tries=3, unknown_tries=2, claim="dead")
    with mail_server(Sink()):
        assert send(program, at=NOON + minutes(90)).held == 1
    assert Question.objects.filter(settled_at__isnull=True).count() == 1
    return program


@pytest.mark.parametrize(
    ("said", "letter", "mail"),
    [("left", "left", "left"), ("again", "leaving", "waiting"), ("paper", "leaving", "failed")],
)
def test_a_person_says_what_became_of_it(
    clerk: Client, held: Program, said: str, letter: str, mail: str
) -> None:
    answer = clerk.post(f"/p/flats/deliveries/{the_mail().pk}/decide/", {"decision": said})
    assert answer.status_code == 302
    assert (the_letter().state, the_mail().state) == (letter, mail)
    assert Delivery.objects.filter(channel="mail").exists() == (said == "paper")
    assert Question.objects.get().settled_by == "Birch"
    assert Change.objects.filter(what="delivery").count() == 1
    assert (Notice.objects.get().left_on is not None) == (said == "left")


def test_sent_again_it_goes_under_the_same_name(clerk: Client, held: Program) -> None:
    before = the_mail().message_id
    clerk.post(f"/p/flats/deliveries/{the_mail().pk}/decide/", {"decision": "again"})
    sink = Sink()
    with mail_server(sink):
        send(held, at=NOON + timedelta(hours=2))
    assert sink.ids == [before]


def test_the_letters_page_tells_each_try(clerk: Client, held: Program) -> None:
    page = clerk.get(f"/p/flats/letters/{the_letter().pk}/").content.decode()
    assert "The try ended without an answer." in page
    assert "Mail it on paper" in page
