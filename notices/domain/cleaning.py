"""Text that comes from data, made fit for one line of paper: no controls, no endless words."""

from __future__ import annotations

import unicodedata

WORD_CAP = 60
"""Letters in one word. The longest word in ordinary use has 45; beyond this it is a paste."""

TEXT_CAP = 240
"""Letters in one cell or line of a letter."""

ELLIPSIS = "\u2026"

_LINE_BREAKS = {"\u2028", "\u2029", "\u0085"}


def clean(text: str, *, cap: int = TEXT_CAP) -> str:
    """Return the text on one line: NFC, blanks collapsed, controls gone, long words cut.

    A cut is shown by an ellipsis: `clean("x" * 10_000)` ends in one after 59 letters.
    """
    visible = unicodedata.normalize("NFC", text)
    if not visible.isprintable():
        visible = "".join(map(_visible, visible))
    words = (_capped(word, cap=WORD_CAP) for word in visible.split())
    return _capped(" ".join(words), cap=cap)


def capital(text: str) -> str:
    """Return words of ours with their first letter large, as they begin a cell.

    Not for names and numbers: those stand as they are.
    """
    return text[:1].upper() + text[1:]


def _visible(letter: str) -> str:
    if letter in _LINE_BREAKS or letter.isspace():
        return " "
    # Controls, halves of characters, and the marks that turn the reading direction around.
    return "" if unicodedata.category(letter) in {"Cc", "Cf", "Cs"} else letter


def _capped(text: str, *, cap: int) -> str:
    return text if len(text) <= cap else text[: cap - 1].rstrip() + ELLIPSIS
