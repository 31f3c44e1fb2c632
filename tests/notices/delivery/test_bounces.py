"""Bounces: read in the forms servers send them, and what a letter becomes of them."""

from __future__ import annotations

import json
import mailbox
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.test import Client, override_settings
from django.utils import timezone

from notices.delivery.bounce_reading import read_bounce
from notices.delivery.bouncing import Heard, take_bounce
from notices.delivery.hooks import is_signed, signature
from notices.models import Delivery, Letter, MailStop, Notice
from notices.tasks import read_box, wake
from registry.models import Program
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
from tests.notices.offices import START, happened

TOKEN = "0123456789abcdef0123456789abcdef"


def report(
    token: str = TOKEN,
    *,
    action: str = "failed",
    status: str = "5.1.1",
    said: str = "550 5.1.1 <owner1@example.org>: no such mailbox",
) -> bytes:
    """A delivery status notification in the form of RFC 3464, appendix E.1."""
    return f"""\
Date: Mon, 05 Jan 2026 20:01:00 +0000
From: Mail Delivery Subsystem <MAILER-DAEMON@mail.example>
Message-Id: <1@mail.example>
To: <bounces@waterclerk.example>
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="b1"
Subject: Returned mail: User unknown
Auto-Submitted: auto-generated

--b1

The original message could not be delivered.

--b1
Content-Type: message/delivery-status

Reporting-MTA: dns; mail.example

Original-Recipient: rfc822;owner1@example.org
Final-Recipient: rfc822;owner1@example.org
Action: {action}
Status: {status}
Diagnostic-Code: smtp; {said}

--b1
Content-Type: message/rfc822

From: office@waterclerk.example
To: owner1@example.org
Message-ID: <{token}@waterclerk.example>
Subject: A letter

Text.

--b1--
""".replace("\n", "\r\n").encode()


VACATION = b"""\
From: owner1@example.org
To: bounces+0123456789abcdef0123456789abcdef@waterclerk.example
Subject: Out of the office
Auto-Submitted: auto-replied
Content-Type: text/plain

I am away until Monday.
"""

# The form of an older mail program, which flufl.bounce knows as qmail's.
QMAIL = f"""\
Return-Path: <>
From: MAILER-DAEMON@mail.example
To: bounces+{TOKEN.upper()}@waterclerk.example
Subject: failure notice
Message-ID: <2@mail.example>

Hi. This is the qmail-send program at mail.example.
I'm afraid I wasn't able to deliver your message to the following addresses.
This is a permanent error; I've given up. Sorry it didn't work out.

<owner1@example.org>:
Sorry, no mailbox here by that name. (#5.1.1)

--- Below this line is a copy of the message.
""".encode()


def test_a_status_notification_is_read_with_its_letter_and_the_servers_words() -> None:
    found = read_bounce(report())
    assert found is not None
    assert (found.tokens[0], found.is_final, found.status) == (TOKEN, True, "5.1.1")
    assert found.words == "550 5.1.1 <owner1@example.org>: no such mailbox"
    assert found.is_bad_address


def test_an_older_form_is_read_by_the_address_it_came_to() -> None:
    found = read_bounce(QMAIL)
    assert found is not None
    assert (found.tokens[0], found.is_final, found.status) == (TOKEN, True, "5.1.1")


@pytest.mark.parametrize(
    "raw", [VACATION, b"", b"\x00\xff" * 50, b"Subject: hello\r\n\r\nWhat does my letter mean?"]
)
def test_what_is_no_bounce_is_told_as_none(raw: bytes) -> None:
    assert read_bounce(raw) is None


@pytest.mark.parametrize(
    ("status", "is_bad"),
    # RFC 3463: 5.1.1 bad mailbox, 5.1.10 null MX (RFC 7505), 5.2.1 disabled; 5.2.2 full,
    # 5.3.4 too large and 5.7.1 not allowed are about the message or the day.
    [
        *(("5.1.1", True), ("5.1.10", True), ("5.2.1", True)),
        *(("5.2.2", False), ("5.3.4", False), ("5.7.1", False)),
    ],
)
def test_only_a_code_about_the_address_blames_it(status: str, is_bad: bool) -> None:
    found = read_bounce(report(status=status, said="refused"))
    assert found is not None
    assert found.is_bad_address is is_bad


@pytest.fixture
def mailed(db: None) -> Program:
    """An office whose one overdue notice a server took on the first day."""
    with mail_server(Sink()):
        program = mailing_office()
        overdue_owner(program)
        run_first_day(program)
        send(program)
    return program


def token_of_mail() -> str:
    return the_mail().message_id.strip("<>").partition("@")[0]


def take(raw: bytes, **later: int) -> Heard:
    found = read_bounce(raw)
    assert found is not None
    return take_bounce(found, source=raw.decode(), at=NOON + timedelta(**later))


def test_a_lawful_notice_that_bounced_is_paper_the_same_night_and_both_are_kept(
    mailed: Program,
) -> None:
    assert Notice.objects.get().left_on == START
    assert take(report(token_of_mail()), hours=2) is Heard.FAILED
    letter, mail = the_letter(), the_mail()
    paper = Delivery.objects.get(channel="mail")
    assert (letter.state, letter.left_on, Notice.objects.get().left_on) == ("leaving", None, None)
    assert (mail.state, mail.left_on, mail.is_required) == ("failed", START, False)
    assert (paper.state, paper.came_from, paper.run) == ("waiting", mail, None)
    assert [one.outcome for one in mail.log.all()] == ["taken", "bounced"]
    assert "no such mailbox" in paper.detail
    assert MailStop.objects.get().address == "owner1@example.org"
    assert Letter.objects.count() == 1  # one letter, no second notice


def test_the_same_bounce_twice_is_one(mailed: Program) -> None:
    raw = report(token_of_mail())
    assert [take(raw), take(raw)] == [Heard.FAILED, Heard.KNOWN]
    assert Delivery.objects.count() == 2


def test_a_delay_is_kept_and_changes_nothing(mailed: Program) -> None:
    assert take(report(token_of_mail(), action="delayed", status="4.4.1")) is Heard.DELAYED
    assert (the_letter().state, the_mail().state) == ("left", "left")


def test_a_full_mailbox_makes_paper_and_stops_no_address(mailed: Program) -> None:
    take(report(token_of_mail(), status="5.2.2", said="552 5.2.2 mailbox full"))
    assert Delivery.objects.filter(channel="mail").exists()
    assert not MailStop.objects.exists()


def test_a_bounce_after_the_test_was_passed_writes_no_paper(mailed: Program) -> None:
    one = Notice.objects.get().assembly
    assert one is not None
    happened(one, (("passed", START),), as_of=START)
    take(report(token_of_mail()))
    assert (the_letter().state, Delivery.objects.count()) == ("left", 1)


def test_the_next_letter_to_an_address_that_failed_goes_on_paper(mailed: Program) -> None:
    take(report(token_of_mail()))
    Letter.objects.all().delete()
    Notice.objects.all().delete()
    with mail_server(Sink()):
        run_first_day(mailed, day=START + timedelta(days=1))
    assert [one.channel for one in Delivery.objects.all()] == ["mail"]
    assert "no such mailbox" in Delivery.objects.get().detail


def test_a_mailbox_file_is_read_and_left_as_it_was(mailed: Program, tmp_path: Path) -> None:
    path = tmp_path / "box"
    box = mailbox.mbox(path)
    for raw in (report(token_of_mail()), VACATION, report("f" * 32)):
        box.add(raw)
    box.close()
    before, said = path.read_bytes(), StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("read_bounces", str(path), "--json", stdout=said)
    assert ended.value.code == 1  # two were no bounces of ours
    counts = {"read": 3, "failed": 1, "delayed": 0, "known": 0, "ignored": 2}
    assert json.loads(said.getvalue()) == counts
    assert path.read_bytes() == before


def test_a_maildir_is_read_again_and_again_and_nothing_in_it_moves(
    mailed: Program, tmp_path: Path
) -> None:
    box = mailbox.Maildir(tmp_path / "box")
    box.add(report(token_of_mail(), action="delayed", status="4.4.1"))
    seen = mailbox.MaildirMessage(report(token_of_mail()))
    seen.set_subdir("cur")
    seen.set_flags("S")
    box.add(seen)
    names = sorted(file.relative_to(tmp_path) for file in tmp_path.rglob("*"))
    for failed, delayed, known in ((1, 1, 0), (0, 0, 2)):
        said = StringIO()
        call_command("read_bounces", str(tmp_path / "box"), "--json", stdout=said)
        counts = {"read": 2, "failed": failed, "delayed": delayed, "known": known, "ignored": 0}
        assert json.loads(said.getvalue()) == counts
    assert sorted(file.relative_to(tmp_path) for file in tmp_path.rglob("*")) == names
    assert the_mail().state == "failed"
    with pytest.raises(SystemExit) as ended:
        call_command("read_bounces", str(tmp_path), stderr=StringIO())
    assert ended.value.code == 2


def test_the_clock_reads_the_mailbox_and_a_broken_one_stops_nothing(
    mailed: Program, tmp_path: Path
) -> None:
    box = mailbox.Maildir(tmp_path / "box")
    assert read_box() == ""  # none is set
    with override_settings(BOUNCE_MAILBOX=str(tmp_path / "none")):
        assert read_box() == "bounces not read: Refused"
    box.add(report(token_of_mail()))
    later = time_machine.travel(NOON + timedelta(hours=2), tick=False)
    with override_settings(BOUNCE_MAILBOX=str(tmp_path / "box")), later:
        assert "bounces: 1" in wake().split("; ")
        assert read_box() == ""  # known by now
    paper = Delivery.objects.get(channel="mail")
    assert (the_mail().state, paper.state) == ("failed", "waiting")


# --- what a provider posts --------------------------------------------------------------

KEY = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


def test_the_signature_is_that_of_the_open_specification() -> None:
    # The worked example of the Standard Webhooks reference libraries' own tests.
    body = b'{"test": 2432232314}'
    right = signature(key=KEY, name="msg_p5jXN8AQM9LWM0D4loKWxJek", sent_at="1614265330", body=body)
    assert right == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_an_old_or_changed_post_is_not_signed() -> None:
    headers = {
        "webhook-id": "m1",
        "webhook-timestamp": "1000",
        "webhook-signature": signature(key=KEY, name="m1", sent_at="1000", body=b"x"),
    }
    assert is_signed(key=KEY, headers=headers, body=b"x", now=1000)
    assert not is_signed(key=KEY, headers=headers, body=b"y", now=1000)
    assert not is_signed(key=KEY, headers=headers, body=b"x", now=1301)
    assert not is_signed(key="", headers=headers, body=b"x", now=1000)


def post(body: bytes, *, key: str = KEY, kind: str = "application/json") -> Any:
    at = str(int(timezone.now().timestamp()))
    signed = signature(key=key, name="m1", sent_at=at, body=body)
    return Client().post(
        "/mail/bounces",
        body,
        content_type=kind,
        headers={"webhook-id": "m1", "webhook-timestamp": at, "webhook-signature": signed},
    )


@override_settings(BOUNCE_KEY=KEY)
def test_a_signed_post_is_taken_and_another_is_not(mailed: Program) -> None:
    said = {"message_id": the_mail().message_id, "kind": "failed", "status": "5.1.1"}
    body = json.dumps(said).encode()
    assert post(body, key="whsec_AAAA").status_code == 403
    assert the_mail().state == "left"
    assert post(body).json() == {"heard": "failed"}
    assert the_mail().state == "failed"
    assert post(b"[]").status_code == 400
    raw = report(token_of_mail())
    assert post(raw, kind="message/rfc822").json() == {"heard": "failed"}
