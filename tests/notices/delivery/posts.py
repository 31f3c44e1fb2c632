"""A real mail server on loopback that keeps what it took, and offices that write by e-mail."""

from __future__ import annotations

import asyncio
import hashlib
import json
import re
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

from aiosmtpd.controller import Controller
from django.test import override_settings

from notices.actions.day import run_day
from notices.delivery.outbox import Sent, send_waiting
from notices.delivery.smtp import MailServer
from notices.models import Delivery, Letter
from registry.models import Party, Program
from scheduling.models import Rulebook
from tests.notices.offices import START, assembly, office, owner, premises

OVERDUE = (("passed", date(2024, 12, 1)),)
NOON = datetime(2026, 1, 5, 20, tzinfo=UTC)  # noon in the office's zone


@dataclass
class Sink:
    """Answers as told, and keeps each message it took; `say` may change its answers."""

    taken: list[EmailMessage] = field(default_factory=list)
    envelopes: list[tuple[str, list[str]]] = field(default_factory=list)
    to_sender: str = ""
    to_recipient: dict[str, str] = field(default_factory=dict)
    to_data: list[str] = field(default_factory=list)
    after_data: Callable[[Any], None] | None = None
    pause_s: float = 0
    lines: set[Any] = field(default_factory=set)

    async def handle_MAIL(  # noqa: N802 - the library asks by this name
        self, server: Any, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        if self.to_sender:
            return self.to_sender
        envelope.mail_from = address
        return "250 OK"

    async def handle_RCPT(  # noqa: N802 - the library asks by this name
        self, server: Any, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        if address in self.to_recipient:
            return self.to_recipient[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(  # noqa: N802
        self, server: Any, session: Any, envelope: Any
    ) -> str:
        if self.to_data and (said := self.to_data.pop(0)):
            return said
        await asyncio.sleep(self.pause_s)
        self.lines.add(session.peer)
        message = message_from_bytes(envelope.content, policy=default)
        assert isinstance(message, EmailMessage)
        self.taken.append(message)
        self.envelopes.append((envelope.mail_from, list(envelope.rcpt_tos)))
        if self.after_data is not None:
            self.after_data(server)
        return "250 2.0.0 taken"

    @property
    def ids(self) -> list[str]:
        return [str(message["Message-ID"]) for message in self.taken]


def free_port() -> int:
    """A port of loopback that nothing listens on."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@contextmanager
def mail_server(sink: Sink, **options: Any) -> Iterator[int]:
    """Run a server on loopback, and set it up as the office's; yields its port."""
    port = free_port()
    controller = Controller(sink, hostname="127.0.0.1", port=port, **options)
    controller.start()
    try:
        with set_up(port):
            yield port
    finally:
        controller.stop()


@contextmanager
def set_up(port: int, **more: Any) -> Iterator[None]:
    """Set a mail server on loopback up, as the environment would."""
    values = {
        "EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend",
        "EMAIL_HOST": "127.0.0.1",
        "EMAIL_PORT": port,
        "EMAIL_HOST_USER": "",
        "EMAIL_HOST_PASSWORD": "",
        "EMAIL_USE_TLS": False,
        "EMAIL_USE_SSL": False,
        "EMAIL_TIMEOUT": 5,
        "MAIL_IS_SET_UP": True,
        "MAIL_FROM_ADDRESS": "office@waterclerk.example",
        "BOUNCE_ADDRESS": "bounces@waterclerk.example",
        **more,
    }
    with override_settings(**values):
        yield


def mailing_office(code: str = "flats", **changes: Any) -> Program:
    """A live office whose rulebook sends reminders and first overdue notices by e-mail."""
    program = office(code, is_trial=False, go_live_on=START, **changes)
    by_mail("first-overdue", "reminder")
    return program


def by_mail(*rungs: str, also_by: tuple[str, ...] = ()) -> None:
    """Let these rungs of the stored rulebooks go by e-mail."""
    besides = f"\nalso_by = {json.dumps(list(also_by))}" if also_by else ""
    for row in Rulebook.objects.all():
        text = row.text
        for rung in rungs:
            text = re.sub(
                rf'^key = "{rung}"$',
                rf'\g<0>\nchannel = "e-mail"{besides}',
                text,
                flags=re.MULTILINE,
            )
        digest = hashlib.sha256(text.encode()).hexdigest()
        Rulebook.objects.filter(pk=row.pk).update(text=text, sha256=digest)


def overdue_owner(program: Program, number: int = 1, *, email: str | None = None) -> Party:
    """An owner of one assembly that is overdue on the office's first day."""
    address = f"owner{number}@example.org" if email is None else email
    party = owner(program, f"Owner {number}", email=address)
    assembly(premises(program, number, of=party), f"S{number:05d}", facts=OVERDUE)
    return party


def run_first_day(program: Program, *, day: date = START) -> None:
    """Compose what is owed, and let it go."""
    run_day(program=program, as_of=day, now=NOON + (day - START))


def send(program: Program, *, at: datetime = NOON, **more: Any) -> Sent:
    """Wake the outbox once."""
    with MailServer() as server:
        return send_waiting(program=program, clock=lambda: at, server=server, **more)


def the_letter() -> Letter:
    return Letter.objects.get()


def the_mail() -> Delivery:
    return Delivery.objects.get(channel="e-mail")


def minutes(count: int) -> timedelta:
    return timedelta(minutes=count)
