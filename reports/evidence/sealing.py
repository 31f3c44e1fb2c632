"""Attaches the letters and the list to the pages, and ends the file with its check sum.

The last line, after the end of the PDF, is a comment that readers pass over: it holds the
SHA-256 of every byte before it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from io import BytesIO

from pikepdf import AttachedFileSpec, ObjectStreamMode, Pdf

from reports.domain.evidence import Story

LIST = "evidence.json"
MARK = b"%Waterclerk evidence, SHA-256 of the bytes before this line: "


def sealed(pages: bytes, *, story: Story, letters: Mapping[str, bytes]) -> bytes:
    """Return the evidence file; the same story and letters give the same bytes."""
    told = json.dumps(story.to_plain(), ensure_ascii=False, indent=1, sort_keys=True)
    with Pdf.open(BytesIO(pages)) as pdf:
        _attach(pdf, name=LIST, data=told.encode("utf-8"), kind="application/json")
        for name, data in sorted(letters.items()):
            _attach(pdf, name=name, data=data, kind="application/pdf")
        stream = BytesIO()
        pdf.save(stream, deterministic_id=True, object_stream_mode=ObjectStreamMode.generate)
    body = stream.getvalue().rstrip(b"\n") + b"\n"
    return body + MARK + hashlib.sha256(body).hexdigest().encode("ascii") + b"\n"


def _attach(pdf: Pdf, *, name: str, data: bytes, kind: str) -> None:
    pdf.attachments[name] = AttachedFileSpec(pdf, data, filename=name, mime_type=kind)
