"""Why: which rule, which figures, which source, given along with every answer."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from scheduling.domain.sentence_words import article


class Reason(NamedTuple):
    """One step of an answer: the day it holds from, the rule, the arithmetic in words, the source.

    Example: `Reason(date(2025, 3, 4), "cycle high-hazard",
    "last pass 2025-03-04 + 6 months = 2025-09-04", "Teaching rulebook …")`.
    """

    date: date
    rule: str
    arithmetic: str
    citation: str

    def to_json(self) -> dict[str, str]:
        """Return the reason as the object that commands print."""
        return {
            "date": self.date.isoformat(),
            "rule": self.rule,
            "arithmetic": self.arithmetic,
            "citation": self.citation,
        }


def nothing_asked(type_: str | None) -> str:
    """Say that a subject owes nothing: `nothing is asked of an AVB`; a service has no type."""
    return f"nothing is asked of {article(type_)} {type_}" if type_ else "nothing is asked here"
