"""Whether what a mail provider posts is theirs: a signature over id, moment and body.

The form is that of the open Standard Webhooks specification: HMAC-SHA256 of
`id.timestamp.body`, base64, as `v1,SIGNATURE` in the header `webhook-signature`.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
from collections.abc import Mapping

TOLERANCE_SECONDS = 300
"""Older or newer than this it is refused: the specification's own figure, against replays."""


def is_signed(*, key: str, headers: Mapping[str, str], body: bytes, now: float) -> bool:
    """Return whether the body carries a right signature of about now. No key: never."""
    sent_at = headers.get("webhook-timestamp", "")
    if not key or not sent_at.isascii() or not sent_at.isdigit():
        return False
    if abs(now - int(sent_at)) > TOLERANCE_SECONDS:
        return False
    right = signature(key=key, name=headers.get("webhook-id", ""), sent_at=sent_at, body=body)
    given = headers.get("webhook-signature", "").split()
    return any(hmac.compare_digest(right.encode(), one.encode()) for one in given)


def signature(*, key: str, name: str, sent_at: str, body: bytes) -> str:
    """Return the signature of a body. A key that begins `whsec_` is base64 after that."""
    signed = f"{name}.{sent_at}.".encode() + body
    digest = hmac.new(_secret(key), signed, hashlib.sha256).digest()
    return f"v1,{base64.b64encode(digest).decode('ascii')}"


def _secret(key: str) -> bytes:
    if not key.startswith("whsec_"):
        return key.encode()
    try:
        return base64.b64decode(key.removeprefix("whsec_"), validate=True)
    except binascii.Error:
        return key.encode()
