"""Faults of a sheet sorted by kind: one cause shown once, with the rows it is in."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

_OF_ONE_ROW = re.compile(r"“[^”]*”|'[^']*'|\"[^\"]*\"|\S*\d\S*")
"""What a message quotes or counts: it differs from row to row, and the kind stays."""

FIRST = 8


@dataclass(frozen=True, kw_only=True)
class RowFault:
    """One thing amiss in one row: the column and value it is in, and the mend."""

    row: int
    column: str = ""
    value: str = ""
    message: str


@dataclass(frozen=True, kw_only=True)
class FaultKind:
    """Rows with one kind of fault; `column`, `value` and `message` are those of the first row."""

    column: str
    value: str
    message: str
    rows: tuple[int, ...]

    @property
    def first_rows(self) -> tuple[int, ...]:
        """The first few."""
        return self.rows[:FIRST]

    @property
    def more(self) -> int:
        """How many more there are."""
        return max(len(self.rows) - FIRST, 0)


def kind_of(message: str) -> str:
    """A message without what belongs to its row alone.

    "'2,1o' is no figure." and "'abc' is no figure." are both "… is no figure."
    """
    return _OF_ONE_ROW.sub("…", message)


def by_kind(faults: Iterable[RowFault]) -> list[FaultKind]:
    """The kinds of faults, those with the most rows first, each with its rows in order."""
    groups: dict[tuple[str, str], list[RowFault]] = {}
    for fault in faults:
        groups.setdefault((fault.column, kind_of(fault.message)), []).append(fault)
    found = []
    for members in groups.values():
        first = min(members, key=lambda one: one.row)
        found.append(
            FaultKind(
                column=first.column,
                value=first.value,
                message=first.message,
                rows=tuple(sorted({one.row for one in members})),
            )
        )
    return sorted(found, key=lambda one: (-len(one.rows), one.rows[0]))
