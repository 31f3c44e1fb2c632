"""The catalogues of letters' words, read with the standard library from `locale`."""

from __future__ import annotations

from functools import lru_cache
from gettext import NullTranslations, translation
from pathlib import Path

FOLDER = Path(__file__).resolve().parent / "locale"
SECOND_LANGUAGES = frozenset({"es"})
"""Languages that have at least a headline."""


@lru_cache(maxsize=8)
def words_in(language: str) -> NullTranslations:
    """Return the catalogue of a language; English is what the code says."""
    if language not in SECOND_LANGUAGES:
        return NullTranslations()
    return translation("django", str(FOLDER), languages=[language])
