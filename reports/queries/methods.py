"""The methods that ship with the program: acceptance limits read from their files."""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path

from django.conf import settings

from registry.models import Program
from reports.domain.limits import Limits
from reports.domain.limits_text import read_limits
from reports.models import OwnMethod


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
    return read_limits(method_text(name))


def method_text(name: str) -> str:
    """The text of a method that ships."""
    return (_folder() / f"{name}.toml").read_text(encoding="utf-8")


def every_method(program: Program) -> list[Limits]:
    """The methods that ship and the program's own, by name."""
    own = [own_limits(row.sha256, row.text) for row in OwnMethod.objects.filter(program=program)]
    shipped = [limits_of(name) for name in method_names()]
    return sorted([*shipped, *own], key=lambda one: one.name)


def limits_in(program: Program, *, name: str) -> Limits:
    """The limits of a method by the name a program knows it by, its own copies first.

    Raises UnknownMethodError, LimitsError.
    """
    row = OwnMethod.objects.filter(program=program, name=name).first()
    if row is not None:
        return own_limits(row.sha256, row.text)
    return limits_of(name)


@lru_cache(maxsize=64)
def own_limits(_sha256: str, text: str) -> Limits:
    """The limits of a program's own text, read once."""
    return read_limits(text)


def _folder() -> Path:
    return Path(settings.BASE_DIR) / "fixtures" / "limits"
