"""Each cell of a record read by what its column holds: a row's statement, faults and warnings."""

from collections.abc import Callable, Mapping
from datetime import date

from registry.domain.assembly_types import read_type
from registry.domain.cells import clean, is_none
from registry.domain.emails import read_email
from registry.domain.fields import RegistryField as F
from registry.domain.headers import ColumnMap
from registry.domain.identity import is_no_serial
from registry.domain.kinds import DateOrder
from registry.domain.places import Position, read_position, read_state, read_zip
from registry.domain.row_reader import RowReader
from registry.domain.sizes import read_size
from registry.domain.statements import (
    StatedAssembly,
    StatedHistory,
    StatedOwner,
    StatedRow,
    StatedSite,
    StatedTest,
    TestKind,
)
from registry.domain.words import (
    StatedResult,
    read_days,
    read_hazard,
    read_protects,
    read_result,
    read_service,
    read_status,
    read_yes_or_no,
)
from registry.domain.written_dates import read_date, read_past_date


def read_row(
    *, row: int, cells: Mapping[str, str], columns: ColumnMap, order: DateOrder, as_of: date
) -> StatedRow:
    """Read every cell of one record. Type, size and dates that cannot be read are faults.

    `order` is the program's for dates in figures; a test or an installation after `as_of` is a
    fault. A missing address is left for the whole file to find.
    """
    reader = RowReader(row=row, cells=cells, columns=columns)
    site = read_site(reader)
    owner = read_owner(reader)
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


def read_site(reader: RowReader) -> StatedSite:
    """The premises, as the row states it."""
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
        call_when=reader.word(F.CALL_WHEN),
        shutdown_tell=reader.word(F.SHUTDOWN_TELL),
        shutdown_days=reader.read(F.SHUTDOWN_DAYS, read_days),
        assigned_to=reader.word(F.ASSIGNED_TO),
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


def read_owner(reader: RowReader) -> StatedOwner:
    """The owner with the mailing address, as the row states it."""
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
        has_chemicals=reader.read(F.CHEMICALS, read_yes_or_no),
        runs_part_year=reader.read(F.PART_YEAR, read_yes_or_no),
        permit_space=reader.read(F.PERMIT_SPACE, read_yes_or_no),
        has_twin=reader.read(F.TWIN, read_yes_or_no),
    )


def _history(reader: RowReader, *, order: DateOrder, as_of: date) -> StatedHistory:
    def past(raw: str) -> date | None:
        return read_past_date(raw, order=order, as_of=as_of)

    def coming(raw: str) -> date | None:
        return read_date(raw, order=order, as_of=as_of)

    status_header = reader.columns.header_of(F.STATUS) or ""
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
        status=reader.read(F.STATUS, lambda raw: read_status(raw, header=status_header)),
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
