"""The mail test: every step of one e-mail to a person of the office, in the server's own words."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from typing import Final

from django.conf import settings

from notices.delivery.smtp import words_of

_OK: Final = frozenset({220, 221, 235, 250, 251, 354})
MESSAGE: Final = "message"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: what was asked, whether the server agreed, and its words.

    `is_unknown`: it fell silent after the message went over, which may or may not have left.
    """

    what: str
    is_good: bool
    words: str
    is_unknown: bool = False


def probe(*, recipient: str, at: datetime, name: str) -> list[Step]:
    """Try each step with the settings as they are; the last one told is where it stopped.

    That the server takes the message is all that can be known: not that it arrives.
    """
    found: list[Step] = []
    try:
        for step in _steps(recipient=recipient, at=at, name=name):
            found.append(step)
            if not step.is_good:
                break
    except (smtplib.SMTPException, OSError) as error:
        code, words = words_of(error)
        stage = _stage(found)
        if stage is None:
            return found  # taken already; how the line ended afterwards says nothing of it
        found.append(
            Step(
                what=stage,
                is_good=False,
                words=f"{code} {words}".strip(),
                is_unknown=stage == MESSAGE and not code,
            )
        )
    return found


STAGES: Final = (
    "connect",
    "greeting",
    "encryption",
    "log-in",
    "sender",
    "recipient",
    MESSAGE,
)


def _stage(found: list[Step]) -> str | None:
    done = [step.what for step in found]
    return next((stage for stage in STAGES if stage not in done), None)


def _steps(*, recipient: str, at: datetime, name: str) -> Iterator[Step]:
    host, port = str(settings.EMAIL_HOST), int(settings.EMAIL_PORT)
    with _line() as server:
        server._host = host  # type: ignore[attr-defined]  # what TLS checks the name against
        yield _step("connect", lambda: server.connect(host, port))
        yield _step("greeting", server.ehlo)
        if settings.EMAIL_USE_TLS:
            yield _step("encryption", lambda: _encrypted(server))
        elif settings.EMAIL_USE_SSL:
            yield Step(what="encryption", is_good=True, words="From the first byte, on this port.")
        else:
            yield Step(what="encryption", is_good=True, words="Not asked for by the settings.")
        if settings.EMAIL_HOST_USER:
            login = (str(settings.EMAIL_HOST_USER), str(settings.EMAIL_HOST_PASSWORD))
            yield _step("log-in", lambda: server.login(*login))
        else:
            yield Step(what="log-in", is_good=True, words="Not asked for by the settings.")
        yield _step("sender", lambda: server.mail(str(settings.MAIL_FROM_ADDRESS)))
        yield _step("recipient", lambda: server.rcpt(recipient))
        message = _message(recipient=recipient, at=at, name=name)
        yield _step(MESSAGE, lambda: server.data(message.as_bytes()))


def _line() -> smtplib.SMTP:
    if not settings.EMAIL_USE_SSL:
        return smtplib.SMTP(timeout=settings.EMAIL_TIMEOUT)
    context = ssl.create_default_context()
    return smtplib.SMTP_SSL(timeout=settings.EMAIL_TIMEOUT, context=context)


def _encrypted(server: smtplib.SMTP) -> tuple[int, bytes]:
    answer = server.starttls(context=ssl.create_default_context())
    server.ehlo()
    return answer


def _step(what: str, ask: Callable[[], tuple[int, bytes]]) -> Step:
    code, said = ask()
    words = f"{code} {' '.join(said.decode('utf-8', errors='replace').split())}".strip()
    return Step(what=what, is_good=code in _OK, words=words[:500])


def _message(*, recipient: str, at: datetime, name: str) -> EmailMessage:
    message = EmailMessage(policy=SMTP)
    message["From"] = Address(addr_spec=str(settings.MAIL_FROM_ADDRESS))
    message["To"] = Address(addr_spec=recipient)
    message["Subject"] = "Test of the office's e-mail"
    message["Date"] = format_datetime(at)
    message.set_content(f"{name} tests whether its e-mail goes out. Nothing is asked of you.\n")
    return message
