"""What an evidence file tells: plain values in the order of their days, decided before drawing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing that happened on a day: what, about what, who or whence, and on what ground."""

    on: date
    what: str
    about: str = ""
    by: str = ""
    ground: str = ""
    step: int = 0
    """Its place among what happened the same day: what was said, was found, and came of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a letter went by one channel, with each try in the server's words."""

    channel: str
    state: str
    left_on: str
    detail: str
    tracking: str
    tries: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterTold:
    """A letter as it was sent: `file` is its attachment, empty where no bytes are kept."""

    number: str
    kind: str
    to: tuple[str, ...]
    composed_on: str
    state: str
    left_on: str
    released_by: str
    ended: str
    carries: tuple[str, ...]
    ways: tuple[Way, ...]
    pages: int
    sha256: str
    file: str
    wording: str = ""
    """Whose sentences it has in each language: built in, or the number of the office's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """An edition of a rulebook that decided something here, and its citations that were used."""

    title: str
    edition: str
    sha256: str
    citations: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """A case, told. `head` is the ledger's newest seal as `size:root`, or empty."""

    office: str
    program: str
    about: str
    as_of: date
    made_at: str
    made_by: str
    things: tuple[tuple[str, ...], ...]
    events: tuple[Event, ...]
    letters: tuple[LetterTold, ...]
    rules: tuple[Rules, ...]
    head: str = ""

    def to_plain(self) -> dict[str, Any]:
        """Return it as what JSON holds: dates as ISO text."""
        plain: dict[str, Any] = _plain(asdict(self))
        for event in plain["events"]:
            del event["step"]
        return {"version": VERSION, **plain}


def in_order(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return events by their days and steps; those of one step stay in the order given."""
    return tuple(sorted(events, key=lambda event: (event.on, event.step)))


def at_step(step: int, events: Iterable[Event]) -> Iterator[Event]:
    """Give events their place within a day, but for those that have one of their own."""
    for event in events:
        yield event if event.step else replace(event, step=step)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value
