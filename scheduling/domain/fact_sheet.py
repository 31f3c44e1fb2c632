"""A sheet of facts, a row each, read into subjects; what cannot be read is set aside by name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from registry.domain.assembly_types import read_type
from registry.domain.cells import Fault, UnreadableCellError, clean, is_none
from registry.domain.kinds import AssemblyType, Protects
from registry.domain.words import read_hazard, read_protects, read_service
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.rulebook import Attributes

COLUMNS = ("assembly", "type", "hazard", "service", "protects", "fact", "on")
NEEDED = ("assembly", "type", "fact", "on")
SHARED = ("type", "hazard", "service", "protects")
WORDS = {
    kind.value: kind
    for kind in (
        FactKind.INSTALLED,
        FactKind.PASSED,
        FactKind.FAILED,
        FactKind.REPAIRED,
        FactKind.RELOCATED,
        FactKind.IDLED,
        FactKind.RESUMED,
        FactKind.REMOVED,
    )
}
EARLIEST, LATEST = date(1900, 1, 1), date(2200, 12, 31)
_ISO = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """One record of the file; `fault` says why its cells cannot be trusted."""

    row: int
    cells: Mapping[str, str]
    fault: str = ""


@dataclass(slots=True)
class SheetSubject:
    """One assembly of the sheet, with what its first row says it is."""

    name: str
    stated: dict[str, str]
    attributes: Attributes
    facts: list[Fact] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


@dataclass(slots=True)
class FactSheet:
    """What a sheet holds: subjects in the order they appear, rows set aside, facts ignored."""

    subjects: dict[str, SheetSubject] = field(default_factory=dict)
    set_aside: list[Fault] = field(default_factory=list)
    ignored: list[Fault] = field(default_factory=list)

    @property
    def is_clean(self) -> bool:
        """True when every row was taken."""
        return not self.set_aside and not self.ignored


def columns_of(headers: Sequence[str]) -> dict[str, str]:
    """Return our column names with the headers that spell them, blanks and case apart."""
    found = {clean(header).casefold(): header for header in reversed(headers)}
    return {column: found[column] for column in COLUMNS if column in found}


def read_fact_sheet(
    *, columns: Mapping[str, str], rows: Iterable[SheetRow], as_of: date
) -> FactSheet:
    """Read the rows of a sheet; facts after `as_of` are ignored and said so.

    Type, hazard, service and protects come from an assembly's first row; a difference is
    warned. A blank hazard is not assessed. An empty fact only names the assembly.
    """
    sheet = FactSheet()
    for row in rows:
        _take_row(sheet, columns=columns, row=row, as_of=as_of)
    return sheet


def _take_row(sheet: FactSheet, *, columns: Mapping[str, str], row: SheetRow, as_of: date) -> None:
    cells = {column: row.cells.get(header, "") for column, header in columns.items()}
    name = clean(cells.get("assembly", ""))
    if row.fault:
        _set_aside(
            sheet, name=name, fault=Fault(row=row.row, column=None, value=None, message=row.fault)
        )
        return
    reader = _RowReader(row=row.row, columns=columns, cells=cells)
    if not name:
        reader.fault("assembly", "No assembly is named: give the row its assembly.")
    subject = sheet.subjects.get(name)
    attributes = reader.attributes() if subject is None else subject.attributes
    fact = reader.fact()
    if subject is None and name and attributes is not None:
        subject = SheetSubject(
            name, {column: clean(cells.get(column, "")) for column in SHARED}, attributes
        )
        sheet.subjects[name] = subject
    for fault in reader.faults:
        _set_aside(sheet, name=name, fault=fault)
    if subject is None or reader.faults:
        return
    subject.warnings += reader.warnings
    subject.warnings += _differences(subject, cells=cells, row=row.row)
    _keep(sheet, subject=subject, fact=fact, reader=reader, as_of=as_of)


def _keep(
    sheet: FactSheet, *, subject: SheetSubject, fact: Fact | None, reader: _RowReader, as_of: date
) -> None:
    if fact is None:
        return
    if fact.on <= as_of:
        subject.facts.append(fact)
        return
    fault = reader.made_fault("on", f"This lies after {as_of}: ignored until that day has come.")
    sheet.ignored.append(fault)
    subject.warnings.append(_said(fault))


def _set_aside(sheet: FactSheet, *, name: str, fault: Fault) -> None:
    sheet.set_aside.append(fault)
    subject = sheet.subjects.get(name)
    if subject is not None:
        subject.warnings.append(_said(fault))


def _said(fault: Fault) -> str:
    if fault.column is None:
        return f"row {fault.row}: {fault.message}"
    return f"row {fault.row}, {fault.column} {fault.value!r}: {fault.message}"


def _differences(subject: SheetSubject, *, cells: Mapping[str, str], row: int) -> list[str]:
    """Return a warning for each attribute a later row states otherwise than the first."""
    found = []
    for column in SHARED:
        stated = clean(cells.get(column, ""))
        if stated and not _same(column, stated, subject.stated[column]):
            first = subject.stated[column] or "nothing"
            found.append(
                f"row {row}, {column}: {stated!r} differs from {first!r} of the first row,"
                " which holds."
            )
    return found


def _same(column: str, one: str, other: str) -> bool:
    if one.casefold() == other.casefold():
        return True
    try:
        return bool(other) and _value(column, one) == _value(column, other)
    except UnreadableCellError:
        return False


def _value(column: str, cell: str) -> object:
    if column == "type":
        return read_type(cell)
    if column == "hazard":
        return read_hazard(cell).value
    return read_service(cell).value if column == "service" else read_protects(cell).value


class _RowReader:
    """Reads the cells of one row, and collects every fault of it."""

    def __init__(self, *, row: int, columns: Mapping[str, str], cells: Mapping[str, str]) -> None:
        self.row, self.columns, self.cells = row, columns, cells
        self.faults: list[Fault] = []
        self.warnings: list[str] = []

    def made_fault(self, column: str, message: str) -> Fault:
        return Fault(
            row=self.row,
            column=self.columns.get(column),
            value=self.cells.get(column, ""),
            message=message,
        )

    def fault(self, column: str, message: str) -> None:
        self.faults.append(self.made_fault(column, message))

    def attributes(self) -> Attributes | None:
        """Read what the assembly is; None when its type cannot be read."""
        type_ = self._type()
        hazard = read_hazard(self.cells.get("hazard", ""))
        service = read_service(self.cells.get("service", ""))
        protects = read_protects(self.cells.get("protects", ""))
        for reading in (hazard, service, protects):
            if reading.warning:
                self.warnings.append(f"row {self.row}: {reading.warning}")
        if type_ is None:
            return None
        return Attributes(
            type=type_,
            hazard=hazard.value,
            service=service.value,
            protects=protects.value or Protects.CONTAINMENT,
        )

    def _type(self) -> AssemblyType | None:
        cell = self.cells.get("type", "")
        if not clean(cell):
            self.fault("type", "The first row of an assembly gives its type: write RP, DC …")
            return None
        try:
            return read_type(cell)
        except UnreadableCellError as error:
            self.fault("type", str(error))
            return None

    def fact(self) -> Fact | None:
        """Read the fact of the row; None when it only names the assembly."""
        word = clean(self.cells.get("fact", "")).casefold()
        if not word:
            return None
        kind = WORDS.get(word)
        if kind is None:
            self.fault("fact", f"This is no fact known here: write one of {', '.join(WORDS)}.")
        on = self._day()
        return None if kind is None or on is None else Fact(kind=kind, on=on, sequence=self.row)

    def _day(self) -> date | None:
        cell = clean(self.cells.get("on", ""))
        if is_none(cell):
            self.fault("on", "The day is missing: write the day of the fact as 2025-03-14.")
            return None
        match = _ISO.fullmatch(cell)
        try:
            day = date.fromisoformat(match[1]) if match else None
        except ValueError:
            day = None
        if day is None:
            self.fault("on", "This is no day of the calendar: write it as 2025-03-14.")
        elif not EARLIEST <= day <= LATEST:
            self.fault(
                "on", f"This lies outside {EARLIEST.year} to {LATEST.year}: correct the year."
            )
            day = None
        return day
