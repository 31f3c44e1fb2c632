"""How a history worked by hand is written down, and how its text becomes plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Worked:
    """One history and what the replay rules make of it, with the arithmetic in words.

    `facts` is written "installed 2025-03-01, passed 2025-03-05"; `dates` is "opens_on due_on" or
    empty; `rung` is "reminder 2026-01-19" or empty; each of `rows` is
    "opens_on due_on [cure 2025-06-08] [met 2025-03-05]".
    """

    name: str
    rule: str  # which replay rule it tries, by its number in the contributor's guide
    book: str
    what: str  # type and hazard, "RP high"; the hazard may be missing
    facts: str
    as_of: str
    standing: str
    dates: str
    rung: str
    rows: tuple[str, ...]
    words: str
    warned: bool = False  # the rules say that a person is told

    @property
    def rulebook(self) -> str:
        return f"plain-{self.book}"

    @property
    def kind(self) -> str:
        return self.what.split()[0]

    @property
    def hazard(self) -> str:
        return " ".join(self.what.split()[1:])

    @property
    def fact_list(self) -> list[tuple[str, date]]:
        told = [each.split() for each in self.facts.split(",") if each.strip()]
        return [(word, date.fromisoformat(on)) for word, on in told]

    @property
    def day(self) -> date:
        return date.fromisoformat(self.as_of)

    @property
    def expected(self) -> dict[str, Any]:
        opens_on, due_on = self.dates.split() if self.dates else (None, None)
        rung, on = self.rung.split() if self.rung else (None, None)
        return {
            "standing": self.standing,
            "opens_on": day_or_none(opens_on),
            "due_on": day_or_none(due_on),
            "next_rung": {"rung": rung, "on": day_or_none(on)} if rung else None,
            "obligations": [row_of(text) for text in self.rows],
        }


def day_or_none(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def row_of(text: str) -> dict[str, Any]:
    """The obligation that "2025-06-01 2026-01-10 cure 2025-06-08 met 2025-06-05" stands for."""
    opens_on, due_on, *rest = text.split()
    said = dict(zip(rest[::2], rest[1::2], strict=True))
    cure_by = said.pop("cure", None)
    how, closed_on = next(iter(said.items()), (None, None))
    return {
        "kind": "test",
        "opens_on": day_or_none(opens_on),
        "due_on": day_or_none(due_on),
        "cure_by": day_or_none(cure_by),
        "closed_on": day_or_none(closed_on),
        "closed_how": how,
    }
