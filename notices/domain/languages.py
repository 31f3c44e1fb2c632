"""In which languages a letter speaks, as its program says."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any


class LanguageWay(StrEnum):
    """What a second language has of a letter."""

    HEADLINE = "headline"
    WHOLE = "whole"
    OWN = "own"

    @classmethod
    def of(cls, letterhead: Mapping[str, Any] | None) -> LanguageWay:
        """Return what a program has chosen; without a choice the headline."""
        told = str((letterhead or {}).get("language_way") or "")
        return cls(told) if told in set(cls) else cls.HEADLINE


def languages_in(told: str) -> list[str]:
    """Return the languages of a program's list, `en,es` or `en es`."""
    return told.replace(",", " ").split()
