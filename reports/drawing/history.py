"""What an assembly's timeline is drawn from: plain dated values, nothing decided in the drawing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, kw_only=True)
class DrawnObligation:
    """One test owed: opened, due, and how it ended (empty while open)."""

    opens_on: date
    due_on: date
    closed_on: date | None = None
    closed_how: str = ""


@dataclass(frozen=True, kw_only=True)
class DrawnTest:
    """One tested fact with the reading shown, if readings were taken."""

    on: date
    passed: bool
    reading: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class DrawnLetter:
    """A letter as a flag: its height is its rung, its figure the rung's place on the ladder."""

    on: date
    rung: int
    figure: str
    is_grave: bool = False
    is_prepared: bool = False


@dataclass(frozen=True, kw_only=True)
class DrawnFact:
    """Something that happened, in a few words."""

    on: date
    words: str
    is_withdrawn: bool = False


@dataclass(frozen=True, kw_only=True)
class DrawnReading:
    """Which reading the field tests lane shows, and its limit."""

    name: str
    unit: str
    limit: Decimal | None = None
    limit_words: str = ""


@dataclass(frozen=True, kw_only=True)
class History:
    """All that is drawn of one assembly."""

    obligations: tuple[DrawnObligation, ...] = ()
    tests: tuple[DrawnTest, ...] = ()
    letters: tuple[DrawnLetter, ...] = ()
    facts: tuple[DrawnFact, ...] = ()
    reading: DrawnReading | None = None
    says: str = ""
