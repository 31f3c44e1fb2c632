"""Reads bounces: status notifications by the standard library, other forms by flufl.bounce.

RFC 3464 puts what happened in the second part of a multipart/report and what was sent in the
third: the letter is told by the token in its Message-ID, or in the address the bounce came to.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from email import message_from_bytes
from email.message import Message

from flufl.bounce import all_failures

from notices.domain.bounces import Bounce, status_in

LONGEST = 2_000_000
"""Bytes of one bounce that are read: a letter's PDF may come back inside it."""

_TOKEN = re.compile(r"(?<![0-9a-f])([0-9a-f]{32})@", re.IGNORECASE)
_RETURN_TOKEN = re.compile(r"\+([0-9a-f]{32})@", re.IGNORECASE)
_RETURNED = ("message/rfc822", "text/rfc822-headers", "message/rfc822-headers")
_TO = ("To", "Delivered-To", "X-Original-To", "Envelope-To")


def read_bounce(raw: bytes) -> Bounce | None:
    """Return what a message says about an e-mail of ours, or None when it is no bounce.

    An out-of-office answer is none: it reports no failure.
    """
    message = message_from_bytes(raw[:LONGEST])
    report = _status_report(message)
    tokens = tuple(dict.fromkeys([*_from_address(message), *_from_returned(message, raw=raw)]))
    if report is not None:
        return _of_report(report, tokens=tokens)
    if _is_auto_reply(message):
        return None
    temporary, permanent = _failures(message)
    if not temporary and not permanent:
        return None
    words = _first_words(message)
    return Bounce(
        tokens=tokens, is_final=bool(permanent), status=status_in(words), words=words[:500]
    )


def _failures(message: Message) -> tuple[set[bytes], set[bytes]]:
    """Addresses that wait and that failed, by the forms of older mail programs.

    The library's detectors stumble over letters no mail server writes: such one is no bounce.
    """
    if not message.get("From"):
        return set(), set()
    try:
        temporary, permanent = all_failures(message)
    except (IndexError, KeyError, ValueError, AttributeError, TypeError):
        return set(), set()
    return set(temporary), set(permanent)


def _status_report(message: Message) -> Message | None:
    """The fields of the first recipient that failed or waits, of a delivery status notification."""
    if message.get_content_type() != "multipart/report":
        return None
    for part in message.walk():
        if part.get_content_type() == "message/delivery-status":
            blocks = part.get_payload()
            for block in blocks if isinstance(blocks, list) else []:
                if isinstance(block, Message) and block.get("Action"):
                    return block
    return None


def _of_report(block: Message, *, tokens: tuple[str, ...]) -> Bounce | None:
    action = str(block.get("Action", "")).strip().lower()
    if action not in {"failed", "delayed"}:
        return None
    diagnostic = " ".join(str(block.get("Diagnostic-Code", "")).split())
    status = status_in(str(block.get("Status", ""))) or status_in(diagnostic)
    return Bounce(
        tokens=tokens,
        is_final=action == "failed",
        status=status,
        words=(diagnostic.partition(";")[2].strip() or diagnostic or f"Status {status}")[:500],
    )


def _from_address(message: Message) -> Iterator[str]:
    for name in _TO:
        for value in message.get_all(name, []):
            yield from (token.lower() for token in _RETURN_TOKEN.findall(str(value)))


def _from_returned(message: Message, *, raw: bytes) -> Iterator[str]:
    """The Message-ID of what came back; where it stands nowhere tidy, a token anywhere."""
    for part in message.walk():
        if part.get_content_type() in _RETURNED:
            text = part.as_string()
            found = re.search(r"^Message-ID:\s*(\S+)", text, re.IGNORECASE | re.MULTILINE)
            if found:
                yield from (token.lower() for token in _TOKEN.findall(found[1]))
    text = raw[:LONGEST].decode("ascii", errors="replace")
    yield from (token.lower() for token in _TOKEN.findall(text)[:5])


def _is_auto_reply(message: Message) -> bool:
    answered = str(message.get("Auto-Submitted", "")).lower()
    return answered.startswith("auto-replied") or message.get("X-Autoreply") is not None


def _first_words(message: Message) -> str:
    for part in message.walk():
        if part.get_content_type() == "text/plain":
            payload = part.get_payload(decode=True)
            if isinstance(payload, bytes):
                return " ".join(payload.decode("utf-8", errors="replace").split())
    return ""
