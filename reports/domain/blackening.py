"""Blackens what names a person in texts: each mention becomes a bar, everything else stays."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

BAR = "\u2588\u2588\u2588\u2588"
SHORTEST = 4
"""Letters of the shortest mention that is looked for: a shorter one would hit other words."""


class Blackener:
    """Replaces mentions, in any case, with or without accents, with any blanks between words."""

    def __init__(self, mentions: Iterable[str]) -> None:
        told = {" ".join(one.split()) for one in mentions}
        self.mentions = sorted((one for one in told if len(one) >= SHORTEST), key=len, reverse=True)
        patterns = [
            r"\s+".join(re.escape(word) for word in _folded(one).split()) for one in self.mentions
        ]
        joined = "|".join(patterns)
        self._pattern = re.compile(rf"(?<!\w)(?:{joined})(?!\w)", re.IGNORECASE) if joined else None

    def text(self, text: str) -> str:
        """Return the text, each mention barred: *Ada Birch called* gives *████ called*."""
        if self._pattern is None:
            return text
        parts, at = [], 0
        for found in self._pattern.finditer(_folded(text)):
            parts += [text[at : found.start()], BAR]
            at = found.end()
        return "".join([*parts, text[at:]])

    def value(self, value: Any) -> Any:
        """Return plain values of any depth with each mention barred; names of fields stay."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, Mapping):
            return {key: self.value(one) for key, one in value.items()}
        if isinstance(value, list | tuple):
            return [self.value(one) for one in value]
        return value


def _folded(text: str) -> str:
    """The text without accents, letter by letter, so that places in it are those of the text."""
    return "".join(unicodedata.normalize("NFD", sign)[0] for sign in text)
