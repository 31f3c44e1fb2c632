"""One item of a field test form: how it is asked for, and what to say when it is blank."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """How an item is asked for."""

    TEXT = "text"
    LONG = "long"
    DATE = "date"
    TIME = "time"
    FIGURE = "figure"
    CHOICE = "choice"


class Part(StrEnum):
    """The part of the form an item stands in."""

    PLACE = "place"
    ASSEMBLY = "assembly"
    VISIT = "visit"
    FOUND = "found"
    REPAIR = "repair"
    CLOSING = "closing"


@dataclass(frozen=True, kw_only=True)
class Item:
    """One item: `header` is the column it becomes in the report, `missing` the mend when blank.

    `choices` are (value, words) pairs; an item with a blank `missing` may stay blank. With `when`,
    a field and its value, it is asked for only beside that answer.
    """

    name: str
    header: str
    label: str
    part: Part
    kind: Kind = Kind.TEXT
    help: str = ""
    missing: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    when: tuple[str, str] | None = None
    only_unknown: bool = False
    most: int = 300
