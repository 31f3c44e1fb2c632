"""Text that may stand in a calendar: no line break or control can begin a line of its own.

RFC 5545 ends a content line with CR LF; readers also break at lone CR or LF and some at the
separators of Unicode, so all of them are taken out before a calendar is written.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

_BREAKS = str.maketrans(
    {"\r": "\n", "\v": "\n", "\f": "\n", "\x85": "\n", "\u2028": "\n", "\u2029": "\n"}
)


def one_line(text: str) -> str:
    """The text on one line: breaks become spaces, runs of blanks one, controls go.

    ``one_line("gate\\r\\nATTENDEE:x")`` is ``"gate ATTENDEE:x"``.
    """
    return " ".join(_without_controls(text.replace("\r\n", "\n").translate(_BREAKS)).split())


def paragraphs(lines: Iterable[str]) -> str:
    """Lines, each cleaned, with plain line feeds between; empty ones are left out.

    The calendar library writes those feeds as the two characters ``\\n``.
    """
    return "\n".join(cleaned for line in lines if (cleaned := one_line(line)))


def _without_controls(text: str) -> str:
    """Without controls (Cc, but for the breaks), lone surrogates and reversals of reading."""
    return "".join(char for char in text if char in "\n\t" or not _is_unfit(char))


def _is_unfit(char: str) -> bool:
    return unicodedata.category(char) in {"Cc", "Cs"} or char in "\u202a\u202b\u202c\u202d\u202e"
