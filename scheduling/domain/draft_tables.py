"""A draft as tables: one rule put in, taken out or moved, and the whole read again."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from typing import Any

from scheduling.domain.filling import fill_gap
from scheduling.domain.gaps import Part
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import (
    RulebookError,
    draft_faults,
    read_draft,
)
from scheduling.domain.toml_text import toml_text

Cells = Mapping[str, Any]

LISTS = (
    *("kind", "exempt", "cycle", "repeat", "event", "cure", "hindrance", "report"),
    *("protection", "ratio", "provision", "rung"),
)
"""The tables of which a rulebook may hold several, in the order pages show them."""

SINGLE = ("grace", "no_date", "transition", "method", "credentials")
"""The tables of which there is one."""

TABLE_OF = {
    Part.CYCLE: "cycle",
    Part.OPENING: "cycle",
    Part.WINDOW: "cycle",
    Part.CREDIT: "cycle",
    Part.REPEAT: "repeat",
    Part.EVENT: "event",
    Part.CURE: "cure",
    Part.GRACE: "grace",
    Part.NO_DATE: "no_date",
    Part.TRANSITION: "transition",
    Part.METHOD: "method",
    Part.GAUGE: "credentials",
    Part.TESTER: "credentials",
    Part.LADDER: "rung",
    Part.REPORT: "report",
    Part.HINDRANCE: "hindrance",
    Part.PROTECTION: "protection",
    Part.PROVISION: "provision",
}
"""The table in which the rule that fills a gap stands."""


class DraftError(ValueError):
    """A change that would make nonsense of a draft: a sentence each for what and how to mend."""

    def __init__(self, *faults: str) -> None:
        super().__init__(" ".join(faults))
        self.faults = faults


@dataclass(slots=True)
class DraftTables:
    """The tables of a draft while one of them is changed."""

    tables: dict[str, Any]

    @classmethod
    def of(cls, text: str) -> DraftTables:
        """Return the tables of a kept text. Raises DraftError for what is no TOML."""
        try:
            return cls(tomllib.loads(text))
        except tomllib.TOMLDecodeError as error:
            raise DraftError(f"This is no TOML: {error}.") from error

    def rows(self, part: str) -> list[dict[str, Any]]:
        """Return the tables of a list, or the one table there may be."""
        found = self.tables.get(part, [])
        return found if isinstance(found, list) else [found]

    def cells(self, *, part: str, place: int) -> dict[str, Any]:
        """Return one table. Raises DraftError where there is none."""
        rows = self.rows(part)
        place = max(place, 0)
        if place >= len(rows):
            raise DraftError("That rule is gone: look at the draft as it stands now.")
        return dict(rows[place])

    def put(self, *, part: str, place: int | None, cells: Cells) -> None:
        """Put a table in place of another; None: after the last."""
        if part in SINGLE:
            self.tables[part] = dict(cells)
            return
        rows = self._list(part)
        if place is None:
            rows.append(dict(cells))
            return
        self.cells(part=part, place=place)
        rows[place] = dict(cells)

    def remove(self, *, part: str, place: int) -> dict[str, Any]:
        """Take a table out and return it."""
        gone = self.cells(part=part, place=place)
        if part in SINGLE:
            del self.tables[part]
            return gone
        del self._list(part)[place]
        if not self.tables[part]:
            del self.tables[part]
        return gone

    def move(self, *, part: str, place: int, by: int) -> None:
        """Move a table up (-1) or down (1) among its own."""
        rows = self._list(part)
        other = place + by
        if not (0 <= place < len(rows) and 0 <= other < len(rows)):
            raise DraftError("It stands at the end already: nothing was moved.")
        rows[place], rows[other] = rows[other], rows[place]

    def fill_gap(self, name: str) -> None:
        """Take a gap out of the list. Raises DraftError while no rule stands in it."""
        gap = self._gap(name)
        try:
            fill_gap(read_draft(self.text()), name=name)
        except RulebookError as error:
            raise DraftError(str(error)) from error
        self._drop("gap", gap)
        for waiver in [one for one in self.rows("waiver") if one.get("gap") == name]:
            self._drop("waiver", waiver)

    def waive_gap(self, *, name: str, by: str, on: date, reason: str) -> None:
        """Write that a person does without what the gap names."""
        self._gap(name)
        if not reason.strip():
            raise DraftError(f"Gap {name!r} is not waived: say why the rulebook may do without.")
        rows = [one for one in self.rows("waiver") if one.get("gap") != name]
        waiver = {"gap": name, "by": by, "on": on, "reason": reason.strip()}
        self.tables["waiver"] = [*rows, waiver]

    def open_gap_again(self, name: str) -> None:
        """Take a waiver back."""
        for waiver in [one for one in self.rows("waiver") if one.get("gap") == name]:
            self._drop("waiver", waiver)

    def text(self) -> str:
        """Return the tables as TOML."""
        return toml_text(self.tables)

    def rulebook(self) -> Rulebook:
        """Return the rulebook the tables say. Raises DraftError with every fault."""
        return checked(self.text())

    def copy(self) -> DraftTables:
        """Return tables that may be changed without changing these."""
        return DraftTables(deepcopy(self.tables))

    def _gap(self, name: str) -> dict[str, Any]:
        found = next((one for one in self.rows("gap") if one.get("name") == name), None)
        if found is None:
            raise DraftError(f"No gap is called {name!r}: look at the draft as it stands now.")
        return found

    def _list(self, part: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = self.tables.setdefault(part, [])
        return rows

    def _drop(self, part: str, table: dict[str, Any]) -> None:
        rest = [one for one in self.tables[part] if one is not table]
        if rest:
            self.tables[part] = rest
        else:
            del self.tables[part]


def checked(text: str) -> Rulebook:
    """Return the rulebook of a text. Raises DraftError with every fault and its mend."""
    try:
        rulebook = read_draft(text)
    except RulebookError as error:
        raise DraftError(str(error)) from error
    faults = draft_faults(rulebook)
    if faults:
        raise DraftError(*faults)
    return rulebook
