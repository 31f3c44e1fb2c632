"""Checks an evidence file by itself: no database, only the file."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

from pikepdf import Pdf, PdfError

from reports.evidence.sealing import LIST, MARK


class NoEvidenceError(Exception):
    """The file is no evidence file, or too broken to be read as one."""


@dataclass(slots=True, kw_only=True)
class Checked:
    """What a check found. No `faults`: not a byte differs from the file as it was made."""

    about: str = ""
    made_at: str = ""
    head: str = ""
    letters: int = 0
    faults: list[str] = field(default_factory=list)


def checked(data: bytes) -> Checked:
    """Check every byte by the last line, and each letter by its own hash.

    Raises NoEvidenceError. A person who can write a new check sum can forge the whole file:
    what holds against that is the head of the ledger, printed elsewhere before.
    """
    found = Checked()
    found.faults += _whole(data)
    try:
        told, attached = _read(data)
    except NoEvidenceError:
        if MARK.strip() not in data:
            raise
        found.faults.append("The pages cannot be read any more.")
        return found
    found.about, found.made_at = str(told.get("about", "")), str(told.get("made_at", ""))
    found.head = str(told.get("head", ""))
    named = [one for one in told.get("letters", []) if isinstance(one, dict) and one.get("file")]
    found.letters = len(named)
    found.faults += _letters(named, attached=attached)
    return found


def _whole(data: bytes) -> Iterator[str]:
    body, mark, given = data.rpartition(MARK)
    if not mark or not re.fullmatch(rb"[0-9a-f]{64}\n", given):
        yield "The last line, with the check sum, is missing or was changed."
    elif hashlib.sha256(body).hexdigest() != given.decode("ascii").strip():
        yield "The file was changed: its bytes do not give the check sum of its last line."


def _read(data: bytes) -> tuple[dict[str, Any], dict[str, bytes]]:
    try:
        with Pdf.open(BytesIO(data)) as pdf:
            files = {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}
        told = json.loads(files.pop(LIST))
    except (PdfError, ValueError, KeyError, TypeError, RuntimeError) as error:
        raise NoEvidenceError(f"It is no evidence file: {type(error).__name__}.") from error
    if not isinstance(told, dict):
        raise NoEvidenceError("It is no evidence file: its list is none.")
    return told, files


def _letters(named: list[dict[str, Any]], *, attached: dict[str, bytes]) -> Iterator[str]:
    for letter in named:
        name = str(letter["file"])
        data = attached.pop(name, None)
        if data is None:
            yield f"Letter {letter.get('number')}: its file {name} is missing."
        elif hashlib.sha256(data).hexdigest() != letter.get("sha256"):
            yield f"Letter {letter.get('number')}: its bytes are not those that were sent."
    for name in sorted(attached):
        yield f"{name} is attached, but the list does not name it."
