"""Objects that are written into ReportLab's PDF as they stand: text of our own, not values."""

from __future__ import annotations

import zlib
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFObject


class Written(PDFObject):  # type: ignore[misc]
    """An object of the file whose bytes we write ourselves; others name it by its number."""

    __RefOnly__ = 1

    def __init__(self, content: bytes = b"") -> None:
        self.content = content

    def format(self, _document: Any) -> bytes:
        """Return its bytes."""
        return self.content


def placed(document: Any, content: bytes | PDFObject) -> str:
    """Add an object to the document; return how others name it, as `12 0 R`."""
    made = Written(content) if isinstance(content, bytes) else content
    number, generation = document.idToObjectNumberAndVersion[document.Reference(made).name]
    return f"{number} {generation} R"


def stream_of(data: bytes, *, said: str = "", is_packed: bool = True) -> bytes:
    """Return a stream with what its dictionary says besides."""
    body = zlib.compress(data, 9) if is_packed else data
    how = "/Filter /FlateDecode " if is_packed else ""
    return b"".join(
        (
            f"<< {how}/Length {len(body)} {said} >>\nstream\n".encode("ascii"),
            body,
            b"\nendstream\n",
        )
    )


def text_string(text: str) -> str:
    """Return a text for a dictionary: as it is read, or in UTF-16 for letters of every script.

    ISO 32000-1, 7.9.2.2: PDFDocEncoding has printable ASCII at its own places.
    """
    if text.isascii() and text.isprintable():
        safe = text.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
        return f"({safe})"
    return f"<FEFF{text.encode('utf-16-be').hex().upper()}>"
