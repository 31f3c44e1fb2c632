"""What a subject is and which rulebook holds, each from a day on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol, TypeVar

from scheduling.domain.rulebook import Attributes, Rulebook
from scheduling.domain.workdays import Holidays


@dataclass(frozen=True, slots=True, kw_only=True)
class AttributesFrom:
    """The attributes of a subject from a day on."""

    on: date
    attributes: Attributes
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RulebookFrom:
    """The rulebook in force from a day on."""

    on: date
    rulebook: Rulebook
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """Dated attributes and rulebooks of one subject; the first of each holds from the start.

    `holidays`: the days on which the office is closed, for rules that count working days.
    `recorded_on` is the day the subject itself was recorded: without any fact, what is
    owed opens then. `rounds_failed`: where the oldest facts are left out, whether each round
    before the first fact given had failed, oldest first.
    """

    attributes: tuple[AttributesFrom, ...]
    rulebooks: tuple[RulebookFrom, ...]
    recorded_on: date
    holidays: Holidays = ()
    rounds_failed: tuple[bool, ...] = ()

    def __post_init__(self) -> None:
        if not self.attributes or not self.rulebooks:
            raise ValueError("A timeline needs attributes and a rulebook to begin with.")


class _Dated(Protocol):
    @property
    def on(self) -> date: ...
    @property
    def recorded_at(self) -> datetime | None: ...


D = TypeVar("D", bound=_Dated)


def known_entries(*, entries: Sequence[D], as_of: date, known_at: datetime | None) -> list[D]:
    """Return the entries that hold by a day and were known at a moment, oldest first.

    The oldest is always kept, for something must hold from the start.
    """
    ordered = sorted(entries, key=lambda entry: entry.on)
    known = [
        entry
        for entry in ordered
        if entry.on <= as_of
        and (known_at is None or entry.recorded_at is None or entry.recorded_at <= known_at)
    ]
    return known or ordered[:1]
