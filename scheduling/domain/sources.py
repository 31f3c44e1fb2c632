"""How far a rule may be trusted, and since when it stands as it was transcribed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

VERIFY = "an example: verify against the current text"
"""What every transcribed rule says of itself."""


class Mark(StrEnum):
    """How far a rule may be trusted; blank where it says so itself, as a teaching rule does."""

    UNMARKED = ""
    READ = "read"
    MEMORY = "memory"
    PRACTICE = "practice"
    LOCAL = "local"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a rule comes from: its number, the day it was transcribed, and its mark."""

    number: str = ""
    transcribed_on: date | None = None
    mark: Mark = Mark.UNMARKED
