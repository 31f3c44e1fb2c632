"""The one place that talks to a mail server: posts a message, and says what the server said."""

from __future__ import annotations

import smtplib
from dataclasses import dataclass
from email.message import Message
from types import TracebackType
from typing import Any, Protocol, Self

from django.core.mail import get_connection

from notices.domain.bounces import is_bad_address, status_in
from notices.domain.deliveries import TryOutcome

ACCEPTED = 250


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a try came to: `words` are the server's own.

    `is_set_up`: the fault is our server's or its settings', not this letter's; going on is
    useless. `is_bad_address`: the server knows no such mailbox.
    """

    outcome: TryOutcome
    code: str = ""
    words: str = ""
    is_set_up: bool = False
    is_bad_address: bool = False


class Post(Protocol):
    """Whatever takes a message; a fake in tests."""

    def post(self, message: Message, *, sender: str, recipient: str) -> Answer:
        """Hand the message over once."""


class MailServer:
    """The mail server of the settings, its connection kept for many messages."""

    def __init__(self) -> None:
        self._backend: Any = get_connection(fail_silently=False)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """End the connection; a server that is gone already is no fault."""
        try:
            self._backend.close()
        except (smtplib.SMTPException, OSError):
            self._backend.connection = None

    def post(self, message: Message, *, sender: str, recipient: str) -> Answer:
        """Hand the message over once, and say what came of it.

        Until the message itself is sent an error means that it has not left. After that,
        silence is `unknown`: it may or may not have left.
        """
        try:
            answer = self._named(sender=sender, recipient=recipient)
        except (smtplib.SMTPException, OSError) as error:
            self.close()
            number, words = words_of(error)
            return Answer(outcome=TryOutcome.LATER, code=number, words=words, is_set_up=True)
        if answer is not None:
            self.close()
            return answer
        return self._handed_over(message)

    def _named(self, *, sender: str, recipient: str) -> Answer | None:
        """Name sender and recipient. A line kept open may have been closed: then on a new one."""
        if self._backend.connection is not None and not self._is_alive():
            self.close()
        self._backend.open()
        smtp: smtplib.SMTP = self._backend.connection
        smtp.ehlo_or_helo_if_needed()
        return _envelope(smtp, sender=sender, recipient=recipient)

    def _is_alive(self) -> bool:
        """Whether the server still talks: it closes after so many messages, or so long a rest."""
        try:
            return bool(self._backend.connection.noop()[0] == ACCEPTED)
        except (smtplib.SMTPException, OSError):
            return False

    def _handed_over(self, message: Message) -> Answer:
        try:
            code, said = self._backend.connection.data(message.as_bytes())
        except smtplib.SMTPDataError as error:
            code, said = error.smtp_code, _raw(error.smtp_error)
        except (smtplib.SMTPException, OSError) as error:
            self.close()
            number, words = words_of(error)
            return Answer(outcome=TryOutcome.UNKNOWN, code=number, words=words)
        return _answer(code, said=said)


def words_of(error: Exception) -> tuple[str, str]:
    """Return code and words of what the server or the network said, on one line."""
    if isinstance(error, smtplib.SMTPResponseException):
        return str(error.smtp_code), _text(_raw(error.smtp_error))
    return "", f"{type(error).__name__}: {_text(str(error).encode())}".rstrip(": ")


def _envelope(smtp: smtplib.SMTP, *, sender: str, recipient: str) -> Answer | None:
    """Name sender and recipient; None when the server takes both."""
    code, said = smtp.mail(sender)
    if code != ACCEPTED:
        # The sender is the office's: no fault of this letter or its recipient.
        return Answer(outcome=TryOutcome.LATER, code=str(code), words=_text(said), is_set_up=True)
    code, said = smtp.rcpt(recipient)
    if code in {ACCEPTED, 251}:
        return None
    answer = _answer(code, said=said)
    bad = answer.outcome is TryOutcome.REFUSED and (
        is_bad_address(status_in(answer.words)) or not status_in(answer.words)
    )
    return Answer(outcome=answer.outcome, code=answer.code, words=answer.words, is_bad_address=bad)


def _answer(code: int, *, said: bytes) -> Answer:
    """RFC 5321 4.2.1: 2yz is yes, 4yz try again later, 5yz do not repeat."""
    outcome = {2: TryOutcome.TAKEN, 4: TryOutcome.LATER, 5: TryOutcome.REFUSED}
    return Answer(
        outcome=outcome.get(code // 100, TryOutcome.UNKNOWN), code=str(code), words=_text(said)
    )


def _raw(said: bytes | str) -> bytes:
    return said if isinstance(said, bytes) else said.encode()


def _text(said: bytes) -> str:
    return " ".join(said.decode("utf-8", errors="replace").split())[:500]
