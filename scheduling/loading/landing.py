"""The state of one load while it lands: what is stored, what the rows say, what changed."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from registry.domain.cells import Fault
from registry.domain.fields import RegistryField
from registry.domain.headers import ColumnMap
from registry.domain.statements import StatedRow
from registry.models import Program
from scheduling.loading.matching import Matching
from scheduling.loading.stored import Stored


@dataclass(frozen=True, kw_only=True)
class LoadHand:
    """Whose load it is: the day it is of, the moment it is recorded at, and by whom."""

    as_of: date
    at: datetime
    by: str


@dataclass(kw_only=True)
class Landing:
    """Rows on their way into a program. `changes` holds, by row, field: [before, after]."""

    program: Program
    hand: LoadHand
    columns: ColumnMap
    rows: Sequence[StatedRow]
    stored: Stored
    matching: Matching
    created: set[int] = field(default_factory=set)
    changes: dict[int, dict[str, list[Any]]] = field(default_factory=dict)
    warnings: list[Fault] = field(default_factory=list)
    assembly_of: dict[int, int] = field(default_factory=dict)
    touched: set[int] = field(default_factory=set)
    assigned: int | None = None
    """Premises given to a testing company; None where no column speaks of it."""

    def note(self, *, row: int, name: str, before: object, after: object) -> None:
        """Remember that a row changed a field."""
        self.changes.setdefault(row, {})[name] = [as_json(before), as_json(after)]

    def warn(self, *, row: StatedRow, name: RegistryField, message: str) -> None:
        """Tell a person something at the cell of a field."""
        header = self.columns.header_of(name)
        value = None
        if header is not None:
            value = row.cells[list(self.columns.fields).index(header)]
        self.warnings.append(Fault(row=row.row, column=header, value=value, message=message))

    @property
    def updated(self) -> set[int]:
        """Rows that changed something that was there before."""
        return set(self.changes) - self.created


def as_json(value: object) -> object:
    """A value as a change row keeps it: figures and dates as text, nothing as null."""
    if value is None or isinstance(value, str | int | bool):
        return str(value) if isinstance(value, str) else value
    return str(value)
