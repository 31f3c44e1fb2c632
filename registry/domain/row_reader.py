"""The cells of one record by field, and what is found wrong with them on the way."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from registry.domain.cells import (
    Fault,
    Reading,
    UnreadableCellError,
    clean,
    clean_lines,
    is_none,
)
from registry.domain.fields import RegistryField as F
from registry.domain.formula_guard import unguarded
from registry.domain.headers import ColumnMap

T = TypeVar("T")

LONGEST = {
    F.ACCOUNT: 60, F.PREMISES: 300, F.ADDRESS: 300, F.CITY: 120, F.STATE: 40, F.ZIP: 20,
    F.USE: 120, F.PHONE: 60, F.MAKER: 120, F.MODEL: 120, F.SERIAL: 120, F.LOCATION: 300,
    F.OWNER_NAME: 300, F.OWNER_ADDRESS: 300, F.OWNER_CITY: 120, F.OWNER_STATE: 40,
    F.OWNER_ZIP: 20, F.OWNER_PHONE: 60,
}  # fmt: skip


@dataclass(kw_only=True)
class RowReader:
    """The cells of one record by field; collects what is found on the way."""

    row: int
    cells: Mapping[str, str]
    columns: ColumnMap
    faults: list[Fault] = field(default_factory=list)
    warnings: list[Fault] = field(default_factory=list)

    def raw(self, name: F) -> str:
        """The raw cell of a field; blank where no column holds it."""
        header = self.columns.header_of(name)
        return self.cells[header] if header is not None else ""

    def plain(self, name: F) -> str:
        """The cell with a spreadsheet's guard against formulas undone."""
        return unguarded(self.raw(name))

    def text(self, name: F, *, lines: bool = False) -> str:
        """Free text, n/a kept out; too long for its place is a fault."""
        said = clean_lines(self.plain(name)) if lines else clean(self.plain(name))
        longest = LONGEST.get(name)
        if longest and len(said) > longest:
            self.fault(
                name, f"The cell holds {len(said)} characters and {longest} fit; shorten it."
            )
            return said[:longest]
        return said

    def word(self, name: F) -> str:
        """Text that is blank where the cell says n/a, unknown or a dash."""
        return "" if is_none(self.plain(name)) else self.text(name)

    def read(self, name: F, reader: Callable[[str], Reading[T]]) -> T:
        """Read a cell whose doubt is a warning."""
        reading = reader(self.plain(name))
        if reading.warning:
            self.warn(name, reading.warning)
        return reading.value

    def read_or_fault(self, name: F, reader: Callable[[str], T]) -> T | None:
        """Read a cell that sets the row aside when it cannot be read."""
        try:
            return reader(self.plain(name))
        except UnreadableCellError as error:
            self.fault(name, str(error))
            return None

    def read_or_warn(self, name: F, reader: Callable[[str], T]) -> T | None:
        """Read a cell that is only compared, so that one that cannot be read is a warning."""
        try:
            return reader(self.plain(name))
        except UnreadableCellError as error:
            self.warn(name, str(error))
            return None

    def fault(self, name: F, message: str) -> None:
        """Note a fault at the cell of a field."""
        self.faults.append(self.at(name, message))

    def warn(self, name: F, message: str) -> None:
        """Note a warning at the cell of a field."""
        self.warnings.append(self.at(name, message))

    def at(self, name: F, message: str) -> Fault:
        """A finding at the cell of a field; without such a column, column and value are null."""
        header = self.columns.header_of(name)
        value = None if header is None else self.cells[header]
        return Fault(row=self.row, column=header, value=value, message=message)
