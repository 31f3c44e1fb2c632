"""A verdict: how one part of a field test stands against its limits, figure by figure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from reports.domain.readings import Reading


class Outcome(StrEnum):
    """What a judged part comes to; *refused* is what could not be judged at all."""

    PASS = "pass"  # noqa: S105  (an outcome, not a secret)
    FAIL = "fail"
    INCOMPLETE = "incomplete"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One criterion with what was recorded, in the recorded unit and unrounded.

    `met` is None where nothing could be said; `margin` is reading less limit, None for words.
    """

    name: str
    reading: Reading
    limit: Decimal | None
    met: bool | None
    margin: Decimal | None
    required: bool
    citation: str

    def plain(self) -> dict[str, str | bool | None]:
        """The criterion as the commands print it: figures as decimal strings."""
        return {
            "name": self.name,
            "reading": plain_reading(self.reading),
            "limit": plain_reading(self.limit),
            "met": self.met,
            "margin": plain_reading(self.margin),
            "citation": self.citation,
        }


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """The outcome of one part, why, and what to look at."""

    outcome: Outcome
    criteria: tuple[Judged, ...] = ()
    reasons: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def warned(self, *warnings: str) -> Verdict:
        """The same verdict with these warnings in front of its own."""
        return replace(self, warnings=(*warnings, *self.warnings)) if warnings else self

    def plain(self) -> dict[str, object]:
        """The verdict as the commands print it."""
        return {
            "outcome": self.outcome.value,
            "criteria": [judged.plain() for judged in self.criteria],
            "reasons": list(self.reasons),
            "warnings": list(self.warnings),
        }


def plain_reading(reading: Reading) -> str | None:
    """A reading as text: ``"2.0"``, ``"did not open"``, or None; never an exponent."""
    if reading is None:
        return None
    if isinstance(reading, Decimal):
        return f"{reading:f}"
    return reading.value
