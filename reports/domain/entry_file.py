"""The file a phone saves when sending never works: records and photos in one JSON."""

from __future__ import annotations

import json
from base64 import b64decode
from binascii import Error as Base64Error
from dataclasses import dataclass

FORMAT = "waterclerk field tests"
MOST_RECORDS = 500


class EntryFileError(ValueError):
    """The file as a whole is not one of ours; the message says what to do."""


@dataclass(frozen=True, kw_only=True)
class SavedPhoto:
    """A photo of a record: the record's id, the hash, the bytes."""

    record: str
    sha256: str
    data: bytes


@dataclass(frozen=True, kw_only=True)
class EntryFile:
    """The bodies of the records, unread, and their photos."""

    records: tuple[object, ...]
    photos: tuple[SavedPhoto, ...]


def read_entry_file(data: bytes) -> EntryFile:
    """What the file holds. Raises EntryFileError."""
    try:
        told = json.loads(data.decode("utf-8-sig"))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        message = "This file cannot be read. Take the one saved on the phone, as it was saved."
        raise EntryFileError(message) from error
    if not isinstance(told, dict) or told.get("what") != FORMAT:
        raise EntryFileError("This is no file of field tests saved on a phone.")
    records = told.get("records")
    if not isinstance(records, list) or not records:
        raise EntryFileError("The file holds no record.")
    if len(records) > MOST_RECORDS:
        raise EntryFileError(f"The file holds more than {MOST_RECORDS} records. Split it.")
    photos = told.get("photos")
    found = [_photo(one) for one in (photos if isinstance(photos, list) else [])]
    return EntryFile(records=tuple(records), photos=tuple(one for one in found if one is not None))


def _photo(one: object) -> SavedPhoto | None:
    if not isinstance(one, dict):
        return None
    try:
        data = b64decode(str(one.get("data", "")), validate=True)
    except (Base64Error, ValueError):
        data = b""
    return SavedPhoto(
        record=str(one.get("record", "")), sha256=str(one.get("sha256", "")), data=data
    )
