"""What a rulebook does not give: named, and closed by a person who fills or waives it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from scheduling.domain.facts import FactKind
from scheduling.domain.matching import Match
from scheduling.domain.rules import TEST


class Part(StrEnum):
    """The part of a rulebook that a gap is in."""

    CYCLE = "cycle"
    EVENT = "event"
    OPENING = "opening"
    WINDOW = "window"
    CREDIT = "credit of a season"
    REPEAT = "repeat failures"
    CURE = "cure"
    GRACE = "grace"
    NO_DATE = "no date known"
    TRANSITION = "transition"
    METHOD = "method"
    GAUGE = "gauge"
    TESTER = "tester"
    LADDER = "ladder"
    REPORT = "report"
    HINDRANCE = "could not be tested"
    PROTECTION = "protection"
    PROVISION = "provision"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Something not transcribed: its name, the part it is in, and whom it would catch.

    `events`: after which events the days are missing, or of which facts the report days.
    """

    name: str
    part: Part
    what: str = ""
    kind: str = TEST
    match: Match = field(default_factory=Match)
    events: frozenset[FactKind] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """A person's decision that the rulebook may do without: then nothing is asked there."""

    gap: str
    by: str
    on: date
    reason: str
