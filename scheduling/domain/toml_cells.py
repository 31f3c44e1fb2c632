"""Cells and tables of TOML, written; what is as usual is left out."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from enum import StrEnum

from scheduling.domain.cycles import Cycle
from scheduling.domain.rules import MonthDay

Cell = (
    str
    | bool
    | int
    | date
    | Decimal
    | Cycle
    | MonthDay
    | frozenset[StrEnum]
    | frozenset[str]
    | tuple[str, ...]
    | None
)
Cells = dict[str, Cell]

UNSAID: tuple[object, ...] = (None, "", False, (), frozenset())
"""What is left out of a table: the reader takes its absence for the same."""


def table_of(head: str, cells: Cells) -> str:
    """Return a table with its head."""
    return "\n".join([head, *lines_of(cells)])


def lines_of(cells: Cells) -> list[str]:
    """Return a line for each cell; one named with a question mark is written even when false."""
    return [
        f"{key.removeprefix('?')} = {_value(value)}"
        for key, value in cells.items()
        if key.startswith("?") or not _is_unsaid(value)
    ]


def _is_unsaid(value: Cell) -> bool:
    return value is None or value is False or (not isinstance(value, int) and value in UNSAID)


def _value(value: Cell) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, frozenset | tuple):
        listed = value if isinstance(value, tuple) else sorted(value)
        return f"[{', '.join(map(_text, listed))}]"
    return _text(value.text if isinstance(value, Cycle) else str(value))


def _text(words: str) -> str:
    """Return a basic string of TOML: JSON's escapes, and the one sign JSON leaves bare."""
    return json.dumps(words, ensure_ascii=False).replace("\x7f", "\\u007f")
