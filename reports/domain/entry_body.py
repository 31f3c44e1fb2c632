"""A record as a device sends it or a file holds it: read strictly, hashed the same everywhere."""

from __future__ import annotations

import hashlib
import json
import re
from base64 import b64decode
from binascii import Error as Base64Error
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from registry.domain.kinds import UNTESTED_TYPES, AssemblyType

FORM_VERSION = "1"
"""The form as it is now; every version since the first is still taken."""

MOST_FIELDS = 200
MOST_TEXT = 4000
MOST_PHOTOS = 20
MOST_SIGNATURE = 300_000

_SHA256 = re.compile(r"[0-9a-f]{64}")


class BodyError(ValueError):
    """A record that is none; carries the field, and the message says what is wrong with it."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@dataclass(frozen=True, kw_only=True)
class EntryBody:
    """A record as understood; `plain` is the body as it came, for keeping."""

    plain: Mapping[str, object]
    client_id: UUID
    form_version: str
    assembly_id: int | None
    assembly_type: AssemblyType
    fields: Mapping[str, str]
    attestation: str
    signed_how: str
    signature: bytes
    photos: tuple[str, ...]
    handed_in_at: datetime | None

    @property
    def sha256(self) -> str:
        """SHA-256 of the body with its keys in order: the same record has the same, always."""
        text = json.dumps(self.plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def read_body(data: object) -> EntryBody:
    """The record that JSON holds. Raises BodyError for what is no record."""
    if not isinstance(data, dict):
        raise BodyError(field="record", message="This is no record of a field test.")
    fields = _fields(data.get("fields"))
    signature = data.get("signature")
    signed = signature if isinstance(signature, dict) else {}
    png = _png(signed.get("png"))
    return EntryBody(
        plain=data,
        client_id=_uuid(data.get("id")),
        form_version=_text(data, "form")[:20],
        assembly_id=_whole(data.get("assembly")),
        assembly_type=_type(data.get("type")),
        fields=fields,
        attestation=_text(data, "attestation"),
        signed_how="drawn" if png else "typed",
        signature=png,
        photos=tuple(photos_named(data)),
        handed_in_at=_moment(data.get("handed_in_at")),
    )


def photos_named(data: Mapping[str, object]) -> list[str]:
    """The hashes of the photos a record names, each once."""
    listed = data.get("photos")
    named = [
        str(one.get("sha256", ""))
        for one in (listed if isinstance(listed, list) else [])
        if isinstance(one, dict)
    ]
    return list(dict.fromkeys(one for one in named if _SHA256.fullmatch(one)))[:MOST_PHOTOS]


def _uuid(value: object) -> UUID:
    try:
        return UUID(str(value))
    except ValueError as error:
        message = "The record has no id of its own; open the form anew and hand it in again."
        raise BodyError(field="id", message=message) from error


def _text(data: Mapping[str, object], name: str) -> str:
    value = data.get(name, "")
    return value.replace("\x00", "")[:MOST_TEXT] if isinstance(value, str) else ""


def _whole(value: object) -> int | None:
    is_number = isinstance(value, int) and not isinstance(value, bool)
    return value if is_number and 0 < int(str(value)) < 2**63 else None  # type: ignore[return-value]


def _type(value: object) -> AssemblyType:
    try:
        found = AssemblyType(str(value))
    except ValueError as error:
        known = ", ".join(one for one in AssemblyType if one not in UNTESTED_TYPES)
        message = f"“{value}” is no type of assembly; the types are {known}."
        raise BodyError(field="type", message=message) from error
    if found in UNTESTED_TYPES:
        message = f"{found} has no field test: it is measured or looked at."
        raise BodyError(field="type", message=message)
    return found


def _fields(value: object) -> dict[str, str]:
    if not isinstance(value, dict) or len(value) > MOST_FIELDS:
        raise BodyError(field="fields", message="The record holds no fields that can be read.")
    return {
        str(name)[:80]: text.replace("\x00", "")[:MOST_TEXT]
        for name, text in value.items()
        if isinstance(text, str)
    }


def _png(value: object) -> bytes:
    if not isinstance(value, str) or not value or len(value) > MOST_SIGNATURE:
        return b""
    try:
        return b64decode(value.removeprefix("data:image/png;base64,"), validate=True)
    except (Base64Error, ValueError):
        return b""


def _moment(value: object) -> datetime | None:
    try:
        found = datetime.fromisoformat(str(value))
    except ValueError:
        return None
    return found if found.tzinfo else None
