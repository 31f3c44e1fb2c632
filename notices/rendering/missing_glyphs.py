"""Letters that no face of ours can draw, told with their names and where they stand."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from notices.rendering import faces

NAMED = 3
"""Characters named one by one; more are counted."""

AROUND = 40


def what_is_missing(texts: Iterable[str]) -> str:
    """Say which characters cannot be drawn, by name, and in what text; empty where all can."""
    held = list(texts)
    missing = faces.missing_letters(held)
    if not missing:
        return ""
    told = ", ".join(_named(letter) for letter in missing[:NAMED])
    more = f" and {len(missing) - NAMED:,} more" if len(missing) > NAMED else ""
    where = next(text for text in held if missing[0] in text)
    return (
        f"No typeface here draws {told}{more}: it would be an empty box in "
        f"\u201c{_around(where, letter=missing[0])}\u201d. Write it in Latin or Cyrillic letters."
    )


def _named(letter: str) -> str:
    name = unicodedata.name(letter, f"U+{ord(letter):04X}")
    return f"\u201c{letter}\u201d ({name.lower()})"


def _around(text: str, *, letter: str) -> str:
    place = text.index(letter)
    start = max(0, place - AROUND // 2)
    return text[start : start + AROUND].strip()
