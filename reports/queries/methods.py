"""The methods that ship with the program: acceptance limits read from their files."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from django.conf import settings

from reports.domain.limits import Limits
from reports.domain.limits_text import read_limits


class UnknownMethodError(LookupError):
    """No method has this name; the message lists those there are."""


def method_names() -> list[str]:
    """The names of all methods, in order."""
    return sorted(path.stem for path in _folder().glob("*.toml"))


@cache
def limits_of(name: str) -> Limits:
    """The acceptance limits of a method. Raises UnknownMethodError, LimitsError."""
    if name not in method_names():
        known = ", ".join(method_names())
        raise UnknownMethodError(f"No method is called {name!r}; there are {known}.")
    return read_limits((_folder() / f"{name}.toml").read_text(encoding="utf-8"))


def _folder() -> Path:
    return Path(settings.BASE_DIR) / "fixtures" / "limits"
