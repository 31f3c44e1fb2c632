"""The rulebooks that ship with the program, read from their files."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from django.conf import settings

from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import read_rulebook


class UnknownRulebookError(LookupError):
    """No rulebook has this name; the message lists those there are."""


def shipped_names() -> list[str]:
    """Return the names of the rulebooks that ship, the teaching ones and those of places."""
    return sorted(_paths())


def shipped_text(name: str) -> str:
    """Return the TOML of a shipped rulebook. Raises UnknownRulebookError."""
    path = _paths().get(name)
    if path is None:
        known = ", ".join(shipped_names())
        raise UnknownRulebookError(f"No rulebook is called {name!r}; there are {known}.")
    return path.read_text(encoding="utf-8")


@cache
def shipped_rulebook(name: str) -> Rulebook:
    """Return a shipped rulebook. Raises UnknownRulebookError, RulebookError."""
    return read_rulebook(shipped_text(name))


def _paths() -> dict[str, Path]:
    folder = Path(settings.BASE_DIR) / "fixtures" / "rulebooks"
    return {path.stem: path for path in folder.rglob("*.toml")}
