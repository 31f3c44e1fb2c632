"""The judging sheet: rows of readings with an id, judged one by one; a bad row stops no other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from registry.domain.assembly_types import read_type
from registry.domain.cells import UnreadableCellError
from registry.domain.kinds import AssemblyType
from reports.domain.judging import PartReadings, judge, refusal
from reports.domain.limits import Limits
from reports.domain.readings import CellError, Reading, ReadingName, Unit, read_cell, read_unit
from reports.domain.verdicts import Verdict

ID, TYPE, UNIT = "id", "type", "unit"
COLUMNS = (ID, TYPE, UNIT, *(name.value for name in ReadingName))


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One row as the file gave it: raw cells by header; `fault` where they cannot be trusted."""

    cells: Mapping[str, str]
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class JudgedRow:
    """The verdict on one row; `test_id` is None where the row gave none."""

    test_id: str | None
    verdict: Verdict
    also: Mapping[str, Verdict] = field(default_factory=dict)

    def plain(self) -> dict[str, object]:
        """The row as the command prints it; `also` only where another method was asked for."""
        told = {"id": self.test_id, **self.verdict.plain()}
        if self.also:
            told["also"] = [{"method": name, **one.plain()} for name, one in self.also.items()]
        return told

    def both_ways(self, method: str) -> str:
        """How it turns out by every method asked for: "pass under usc10, fail under usc9"."""
        told = {method: self.verdict, **self.also}
        return ", ".join(f"{one.outcome} under {name}" for name, one in told.items())


def known_columns(headers: Sequence[str]) -> dict[str, str]:
    """The file's header for each column it knows; spelling in capitals or with blanks is taken."""
    found: dict[str, str] = {}
    for header in headers:
        plain = "_".join(header.casefold().replace("-", " ").replace("_", " ").split())
        if plain in COLUMNS:
            found.setdefault(plain, header)
    return found


def judge_rows(
    *,
    limits: Limits,
    columns: Mapping[str, str],
    rows: Iterable[SheetRow],
    also: Sequence[Limits] = (),
) -> Iterator[JudgedRow]:
    """Each row's verdict in the order of the file; what cannot be read is refused with its mend.

    `also` are further methods to hold the same readings against.
    """
    for row in rows:
        yield JudgedRow(
            test_id=row.cells.get(columns[ID], "").strip() or None,
            verdict=_judged(limits, columns=columns, row=row),
            also={one.name: _judged(one, columns=columns, row=row) for one in also},
        )


def _judged(limits: Limits, *, columns: Mapping[str, str], row: SheetRow) -> Verdict:
    if row.fault:
        return refusal(row.fault)
    faults: list[str] = []
    warnings: list[str] = []
    assembly_type = _type(row.cells[columns[TYPE]], column=columns[TYPE], faults=faults)
    unit = _unit(row.cells, columns=columns, faults=faults)
    readings: dict[ReadingName, Reading] = {}
    for name in ReadingName:
        column = columns.get(name)
        if column is None:
            continue
        try:
            cell = read_cell(name=name, column=column, text=row.cells[column])
        except CellError as error:
            faults.append(f"{error}")
            continue
        readings[name] = cell.reading
        warnings += [cell.warning] if cell.warning else []
    if faults or assembly_type is None:
        return refusal(*faults)
    part = PartReadings(assembly_type=assembly_type, unit=unit, readings=readings)
    return judge(limits, part).warned(*warnings)


def _type(text: str, *, column: str, faults: list[str]) -> AssemblyType | None:
    try:
        return read_type(text)
    except UnreadableCellError as error:
        faults.append(f"{column}: {error}")
        return None


def _unit(cells: Mapping[str, str], *, columns: Mapping[str, str], faults: list[str]) -> Unit:
    column = columns.get(UNIT)
    try:
        return read_unit(column=column or UNIT, text=cells.get(column, "") if column else "")
    except CellError as error:
        faults.append(str(error))
        return Unit.PSID
