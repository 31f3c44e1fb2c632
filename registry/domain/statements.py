"""What one row of a registry's spreadsheet states, with its faults and warnings."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from registry.domain.assembly_types import read_type
from registry.domain.cells import (
    Fault,
    Reading,
    UnreadableCellError,
    clean,
    clean_lines,
    is_none,
)
from registry.domain.emails import read_email
from registry.domain.fields import RegistryField as F
from registry.domain.formula_guard import unguarded
from registry.domain.headers import ColumnMap
from registry.domain.identity import is_no_serial
from registry.domain.kinds import AssemblyType, DateOrder, Hazard, Protects, ServiceKind
from registry.domain.places import Position, read_position, read_state, read_zip
from registry.domain.sizes import read_size
from registry.domain.words import (
    StatedResult,
    StatedStatus,
    read_hazard,
    read_protects,
    read_result,
    read_service,
    read_status,
)
from registry.domain.written_dates import read_date, read_past_date

T = TypeVar("T")

LONGEST = {
    F.ACCOUNT: 60, F.PREMISES: 300, F.ADDRESS: 300, F.CITY: 120, F.STATE: 40, F.ZIP: 20,
    F.USE: 120, F.PHONE: 60, F.MAKER: 120, F.MODEL: 120, F.SERIAL: 120, F.LOCATION: 300,
    F.OWNER_NAME: 300, F.OWNER_ADDRESS: 300, F.OWNER_CITY: 120, F.OWNER_STATE: 40,
    F.OWNER_ZIP: 20, F.OWNER_PHONE: 60,
}  # fmt: skip


class TestKind(StrEnum):
    """A test as a spreadsheet states it, without readings."""

    __test__ = False
    PASSED = "passed"
    FAILED = "failed"


@dataclass(frozen=True, kw_only=True)
class StatedTest:
    """A test stated with its day."""

    kind: TestKind
    on: date


@dataclass(frozen=True, kw_only=True)
class StatedOwner:
    """The owner with the mailing address, as one row states it."""

    name: str = ""
    address: str = ""
    city: str = ""
    state: str = ""
    zip: str = ""
    email: str = ""
    phone: str = ""


@dataclass(frozen=True, kw_only=True)
class StatedSite:
    """The premises, as one row states it."""

    account: str = ""
    name: str = ""
    address: str = ""
    city: str = ""
    state: str = ""
    zip: str = ""
    use: str = ""
    phone: str = ""
    position: Position = field(default_factory=Position)


@dataclass(frozen=True, kw_only=True)
class StatedAssembly:
    """The assembly, as one row states it. A blank serial means that nobody could read one."""

    type: AssemblyType | None = None
    size_in: Decimal | None = None
    maker: str = ""
    model: str = ""
    serial: str = ""
    location: str = ""
    notes: str = ""
    hazard: Hazard = Hazard.NOT_ASSESSED
    service: ServiceKind = ServiceKind.UNKNOWN
    protects: Protects | None = None


@dataclass(frozen=True, kw_only=True)
class StatedHistory:
    """What happened, as one row states it; `due_on`, `opens_on`, `standing` are only compared.

    `result_is_clear` is False where a result is stated that nobody understands: the tests then
    say nothing, and what is stored stays.
    """

    installed_on: date | None = None
    tests: tuple[StatedTest, ...] = ()
    result_is_clear: bool = True
    status: StatedStatus | None = None
    due_on: date | None = None
    opens_on: date | None = None
    standing: str = ""


@dataclass(frozen=True, kw_only=True)
class StatedRow:
    """One row as read. With any fault it is set aside, whole; warnings let it land."""

    row: int
    cells: tuple[str, ...]
    site: StatedSite
    owner: StatedOwner
    assembly: StatedAssembly
    history: StatedHistory
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Fault, ...] = ()

    def with_fault(self, fault: Fault) -> "StatedRow":
        """The same row with one fault more."""
        return replace(self, faults=(*self.faults, fault))

    def with_warning(self, warning: Fault) -> "StatedRow":
        """The same row with one warning more."""
        return replace(self, warnings=(*self.warnings, warning))


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


def read_row(
    *, row: int, cells: Mapping[str, str], columns: ColumnMap, order: DateOrder, as_of: date
) -> StatedRow:
    """Read every cell of one record. Type, size and dates that cannot be read are faults.

    `order` is the program's for dates in figures; a test or an installation after `as_of` is a
    fault. A missing address is left for the whole file to find.
    """
    reader = RowReader(row=row, cells=cells, columns=columns)
    site = _site(reader)
    owner = _owner(reader)
    assembly = _assembly(reader)
    history = _history(reader, order=order, as_of=as_of)
    return StatedRow(
        row=row,
        cells=tuple(cells.values()),
        site=site,
        owner=owner,
        assembly=assembly,
        history=history,
        faults=tuple(reader.faults),
        warnings=tuple(reader.warnings),
    )


def _site(reader: RowReader) -> StatedSite:
    state = read_state(reader.text(F.STATE))
    return StatedSite(
        account=reader.word(F.ACCOUNT),
        name=reader.text(F.PREMISES),
        address=_address(reader),
        city=reader.word(F.CITY),
        state=state,
        zip=reader.read(F.ZIP, lambda raw: read_zip(raw, state=state)),
        use=reader.word(F.USE),
        phone=reader.word(F.PHONE),
        position=_position(reader, state=state),
    )


def _address(reader: RowReader) -> str:
    number, street = reader.word(F.ADDRESS_NUMBER), reader.word(F.ADDRESS)
    if street and number and not street.startswith(f"{number} "):
        street = f"{number} {street}"
    return _with_unit(street=street, unit=reader.word(F.ADDRESS_UNIT))


def _with_unit(*, street: str, unit: str) -> str:
    if not street or not unit:
        return street or unit
    return f"{street}, {unit}" if any(char.isalpha() for char in unit) else f"{street}, #{unit}"


def _position(reader: RowReader, *, state: str) -> Position:
    lat, lon = reader.plain(F.LAT), reader.plain(F.LON)
    reading = read_position(lat=lat, lon=lon, state=state)
    if reading.warning:
        reader.warn(F.LAT if reader.columns.brings(F.LAT) else F.LON, reading.warning)
    return reading.value


def _owner(reader: RowReader) -> StatedOwner:
    state = read_state(reader.text(F.OWNER_STATE))
    return StatedOwner(
        name=reader.word(F.OWNER_NAME),
        address=_with_unit(
            street=reader.word(F.OWNER_ADDRESS), unit=reader.word(F.OWNER_ADDRESS_UNIT)
        ),
        city=reader.word(F.OWNER_CITY),
        state=state,
        zip=reader.read(F.OWNER_ZIP, lambda raw: read_zip(raw, state=state)),
        email=reader.read(F.OWNER_EMAIL, read_email),
        phone=reader.word(F.OWNER_PHONE),
    )


def _assembly(reader: RowReader) -> StatedAssembly:
    hazard_header = reader.columns.header_of(F.HAZARD) or ""
    size = reader.read_or_fault(F.SIZE_IN, read_size)
    if size and size.warning:
        reader.warn(F.SIZE_IN, size.warning)
    serial = reader.word(F.SERIAL)
    return StatedAssembly(
        type=reader.read_or_fault(F.TYPE, read_type),
        size_in=size.value if size else None,
        maker=reader.word(F.MAKER),
        model=reader.word(F.MODEL),
        serial="" if is_no_serial(serial) else serial,
        location=reader.word(F.LOCATION),
        notes=reader.text(F.NOTES, lines=True),
        hazard=reader.read(F.HAZARD, lambda raw: read_hazard(raw, header=hazard_header)),
        service=reader.read(F.SERVICE, read_service),
        protects=reader.read(F.PROTECTS, read_protects),
    )


def _history(reader: RowReader, *, order: DateOrder, as_of: date) -> StatedHistory:
    def past(raw: str) -> date | None:
        return read_past_date(raw, order=order, as_of=as_of)

    def coming(raw: str) -> date | None:
        return read_date(raw, order=order, as_of=as_of)

    installed_on = reader.read_or_fault(F.INSTALLED_ON, past)
    tests = _tests(reader, past=past)
    for test in tests:
        if installed_on and test.on < installed_on:
            reader.warn(
                F.LAST_TESTED_ON if reader.columns.brings(F.LAST_TESTED_ON) else F.LAST_PASSED_ON,
                f"The test of {test.on} lies before the installation on {installed_on}; it is kept "
                "as stated and meets nothing. Correct whichever is wrong.",
            )
    return StatedHistory(
        installed_on=installed_on,
        tests=tests,
        result_is_clear=_result_is_clear(reader),
        status=reader.read(F.STATUS, read_status),
        due_on=reader.read_or_warn(F.DUE_ON, coming),
        opens_on=reader.read_or_warn(F.OPENS_ON, coming),
        standing=clean(reader.plain(F.STANDING)),
    )


def _tests(reader: RowReader, *, past: Callable[[str], date | None]) -> tuple[StatedTest, ...]:
    tested_on = reader.read_or_fault(F.LAST_TESTED_ON, past)
    passed_on = reader.read_or_fault(F.LAST_PASSED_ON, past)
    result = reader.read(F.RESULT, read_result)
    tests: list[StatedTest] = []
    if passed_on:
        tests.append(StatedTest(kind=TestKind.PASSED, on=passed_on))
    if tested_on and _result_is_clear(reader):
        kind = TestKind.FAILED if result is StatedResult.FAIL else TestKind.PASSED
        tests.append(StatedTest(kind=kind, on=tested_on))
    if result is StatedResult.FAIL and not tested_on:
        reader.warn(F.RESULT, "The last test failed, and no day is stated; give the day.")
    return tuple(sorted(set(tests), key=lambda test: (test.on, test.kind)))


def _result_is_clear(reader: RowReader) -> bool:
    said = reader.plain(F.RESULT)
    return is_none(said) or read_result(said).value is not None
