"""A row of a test sheet read as a report: what was found, mended and found again, by whom."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from decimal import Decimal

from registry.domain.cells import (
    Fault,
    UnreadableCellError,
    clean,
    clean_lines,
    is_none,
)
from registry.domain.identity import folded, maker_key, serial_key
from registry.domain.kinds import DateOrder
from registry.domain.words import StatedResult, read_result, read_yes
from registry.domain.written_dates import read_date, read_past_date, time_of_day
from reports.domain.readings import CellError, Reading, ReadingName, Unit, read_cell, read_unit
from reports.domain.report_columns import ReportColumns, ReportField
from reports.domain.verdicts import plain_reading
from reports.domain.visit_cells import read_visit
from reports.domain.visits import Visit

Readings = Mapping[ReadingName, Reading]
MIDNIGHT = time(0)


@dataclass(frozen=True, kw_only=True)
class FieldReport:
    """One report as understood; `initial` and `final` hold what each part's cells recorded.

    `warnings` are about cells that were read with a doubt or left out.
    """

    row: int
    cells: Mapping[str, str]
    serial: str
    maker: str
    stated_type: str
    tested_on: date
    tested_at: time | None
    certificate: str
    tester_name: str
    certificate_ends_on: date | None
    gauge_serial: str
    gauge_calibrated_on: date | None
    line_pressure: str
    unit: Unit
    initial: Readings
    final: Readings
    repairs: str
    declared: StatedResult | None
    declared_text: str
    remarks: str
    visit: Visit = field(default_factory=Visit)
    warnings: tuple[str, ...] = ()

    @property
    def serial_key(self) -> str:
        """The serial as the registry compares it."""
        return serial_key(self.serial)

    @property
    def maker_key(self) -> str:
        """The maker as the registry compares it."""
        return maker_key(self.maker)

    def digest(self) -> str:
        """SHA-256 of the report, normalised: the same report written otherwise has the same."""
        plain = {
            "serial": self.serial_key,
            "maker": self.maker_key,
            "type": folded(self.stated_type),
            "on": self.tested_on.isoformat(),
            "at": self.tested_at.isoformat() if self.tested_at else "",
            "certificate": serial_key(self.certificate),
            "tester": folded(self.tester_name),
            "certificate ends": str(self.certificate_ends_on or ""),
            "gauge": serial_key(self.gauge_serial),
            "calibrated": str(self.gauge_calibrated_on or ""),
            "line": self.line_pressure,
            "unit": "kPa" if self.unit is Unit.KPA else "psi",
            "initial": _plain(self.initial),
            "final": _plain(self.final),
            "repairs": folded(self.repairs),
            "declared": folded(self.declared_text),
            "remarks": folded(self.remarks),
            **self.visit.told(),
        }
        return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()


@dataclass(kw_only=True)
class _Row:
    """A row while it is read: its faults and warnings gather here."""

    row: int
    cells: Mapping[str, str]
    columns: ReportColumns
    faults: list[Fault] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    def raw(self, wanted: ReportField) -> str:
        header = self.columns.fields.get(wanted)
        return self.cells[header] if header is not None else ""

    def has(self, wanted: ReportField) -> bool:
        return wanted in self.columns.fields

    def words(self, wanted: ReportField) -> str:
        raw = self.raw(wanted)
        return "" if is_none(raw) else clean(raw)

    def fault(self, *, column: str | None, value: str | None, message: str) -> None:
        self.faults.append(Fault(row=self.row, column=column, value=value, message=message))


def read_report(
    *,
    row: int,
    cells: Mapping[str, str],
    columns: ReportColumns,
    order: DateOrder,
    as_of: date,
) -> FieldReport | list[Fault]:
    """The report a row holds, or every fault that sets it aside.

    Faults: no serial, a test date that is missing, unreadable or after `as_of`, a unit nobody
    knows, a reading that is no figure between 0 and 200 and no word of its column. A certificate
    or calibration date that cannot be read is only warned: the program's own record decides.
    """
    reading = _Row(row=row, cells=cells, columns=columns)
    serial = _serial(reading)
    tested_on = _tested_on(reading, order=order, as_of=as_of)
    unit = _unit(reading)
    initial = _readings(reading, columns.initial)
    final = _readings(reading, columns.final)
    if reading.faults or tested_on is None:
        return reading.faults
    return FieldReport(
        row=row,
        cells=cells,
        serial=serial,
        maker=reading.words(ReportField.MAKER),
        stated_type=reading.words(ReportField.TYPE),
        tested_on=tested_on,
        tested_at=_time(reading),
        certificate=reading.words(ReportField.CERTIFICATE),
        tester_name=reading.words(ReportField.TESTER_NAME),
        certificate_ends_on=_stated(reading, ReportField.CERTIFICATE_ENDS_ON, order, as_of),
        gauge_serial=reading.words(ReportField.GAUGE_SERIAL),
        gauge_calibrated_on=_stated(reading, ReportField.GAUGE_CALIBRATED_ON, order, as_of),
        line_pressure=_line_pressure(reading),
        unit=unit,
        initial=initial,
        final=final,
        repairs=_repairs(reading),
        declared=_declared(reading),
        declared_text=reading.words(ReportField.DECLARED),
        remarks=clean_lines(reading.raw(ReportField.REMARKS)),
        visit=read_visit(
            cells=reading,
            received_on=_stated(reading, ReportField.RECEIVED_ON, order, as_of),
        ),
        warnings=tuple(reading.warnings),
    )


def _serial(row: _Row) -> str:
    serial = row.words(ReportField.SERIAL)
    if not serial:
        row.fault(
            column=row.columns.fields.get(ReportField.SERIAL),
            value=row.raw(ReportField.SERIAL),
            message="no serial number; write the one on the assembly's plate",
        )
    return serial


def _tested_on(row: _Row, *, order: DateOrder, as_of: date) -> date | None:
    raw = row.raw(ReportField.TESTED_ON)
    message = "no test date; write the day of the test, as 2026-11-25"
    try:
        found = read_past_date(raw, order=order, as_of=as_of)
    except UnreadableCellError as error:
        found, message = None, str(error)
    if found is None:
        column = row.columns.fields.get(ReportField.TESTED_ON)
        row.fault(column=column, value=raw, message=message)
    return found


def _unit(row: _Row) -> Unit:
    column = row.columns.fields.get(ReportField.UNIT) or ReportField.UNIT.value
    try:
        return read_unit(column=column, text=row.raw(ReportField.UNIT))
    except CellError as error:
        row.fault(column=error.column, value=error.value, message=error.message)
        return Unit.PSID


def _readings(row: _Row, headers: Mapping[ReadingName, str]) -> dict[ReadingName, Reading]:
    found: dict[ReadingName, Reading] = {}
    for name, header in headers.items():
        try:
            cell = read_cell(name=name, column=header, text=row.cells[header])
        except CellError as error:
            row.fault(column=error.column, value=error.value, message=error.message)
            continue
        if cell.reading is not None:
            found[name] = cell.reading
        if cell.warning:
            row.warnings.append(cell.warning)
    return found


def _time(row: _Row) -> time | None:
    """The time of the test; a day that a spreadsheet wrote out with 0:00 has none."""
    told = time_of_day(row.raw(ReportField.TESTED_AT))
    beside_day = time_of_day(row.raw(ReportField.TESTED_ON))
    return told or (beside_day if beside_day != MIDNIGHT else None)


def _stated(row: _Row, wanted: ReportField, order: DateOrder, as_of: date) -> date | None:
    return _or_warning(row, wanted, lambda raw: read_date(raw, order=order, as_of=as_of))


def _or_warning(row: _Row, wanted: ReportField, read: Callable[[str], date | None]) -> date | None:
    raw = row.raw(wanted)
    try:
        return read(raw)
    except UnreadableCellError as error:
        row.warnings.append(f"{row.columns.fields[wanted]}: {error} The program's record decides.")
        return None


def _line_pressure(row: _Row) -> str:
    text = row.words(ReportField.LINE_PRESSURE).replace(",", ".")
    if not text:
        return ""
    try:
        figure = Decimal(text) if text.isascii() and "_" not in text else None
    except ArithmeticError:
        figure = None
    if figure is None or not figure.is_finite() or figure < 0:
        header = row.columns.fields[ReportField.LINE_PRESSURE]
        row.warnings.append(f"{header}: {text!r} is no pressure; it is kept as written")
        return text
    return f"{figure.normalize():f}"


def _repairs(row: _Row) -> str:
    raw = row.raw(ReportField.REPAIRS)
    said = clean_lines(raw)
    none = is_none(raw) or read_yes(raw) is False or said.casefold() == "no repairs"
    return "" if none else said


def _declared(row: _Row) -> StatedResult | None:
    raw = row.raw(ReportField.DECLARED)
    said = read_result(raw).value
    if said is None and not is_none(raw):
        header = row.columns.fields[ReportField.DECLARED]
        row.warnings.append(f"{header}: {clean(raw)!r} is neither pass nor fail; readings decide")
    return said


def _plain(readings: Readings) -> dict[str, str]:
    return {name.value: _plain_one(reading) for name, reading in readings.items()}


def _plain_one(reading: Reading) -> str:
    if isinstance(reading, Decimal):
        return f"{reading.normalize():f}"
    return plain_reading(reading) or ""
