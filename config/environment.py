"""Reads the environment strictly: what cannot be understood becomes a named fault.

Settings must import even when a variable is wrong, so that the system checks
can say which one and what to do. Hence a fault is kept here, the default is
used, and `config.checks` reports every fault before anything runs.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

PREFIX = "WATERCLERK_"

_YES = frozenset({"1", "yes", "true", "on"})
_NO = frozenset({"0", "no", "false", "off"})


@dataclass(frozen=True)
class Fault:
    """A variable that cannot be used: its name, what is wrong, what to write instead."""

    variable: str
    message: str
    hint: str


@dataclass
class Environment:
    """The variables of the process, with the faults met while reading them."""

    values: Mapping[str, str]
    faults: list[Fault] = field(default_factory=list)
    known: set[str] = field(default_factory=set)

    def text(self, name: str, *, default: str = "") -> str:
        """Return the variable without outer blanks, or the default when unset or blank."""
        self.known.add(name)
        return self.values.get(name, "").strip() or default

    def choice(self, name: str, *, among: Collection[str], default: str) -> str:
        """Return one of the words allowed; another word is a fault."""
        word = self.text(name, default=default)
        if word in among:
            return word
        allowed = ", ".join(sorted(among))
        self.fault(name, message=f"is {word!r}, which is none of: {allowed}", hint="Use one.")
        return default

    def yes(self, name: str, *, default: bool) -> bool:
        """Return a yes or no."""
        word = self.text(name).lower()
        if not word:
            return default
        if word in _YES or word in _NO:
            return word in _YES
        self.fault(name, message=f"is {word!r}, neither yes nor no", hint="Write yes or no.")
        return default

    def whole(self, name: str, *, default: int, least: int, most: int) -> int:
        """Return a whole number between two bounds, both included."""
        word = self.text(name)
        if not word:
            return default
        if word.isascii() and word.isdigit() and least <= int(word) <= most:
            return int(word)
        self.fault(
            name,
            message=f"is {word!r}, not a whole number from {least} to {most}",
            hint=f"Leave it out for {default}.",
        )
        return default

    def words(self, name: str, *, default: Collection[str]) -> list[str]:
        """Return a list written with commas."""
        found = [word.strip() for word in self.text(name).split(",") if word.strip()]
        return found or list(default)

    def fault(self, variable: str, *, message: str, hint: str) -> None:
        """Keep a fault for the system checks."""
        self.faults.append(Fault(variable=variable, message=message, hint=hint))

    def unknown(self) -> list[str]:
        """Return the variables of our prefix that nothing has asked for: misspelt ones."""
        ours = (name for name in self.values if name.startswith(PREFIX))
        return sorted(name for name in ours if name not in self.known)
