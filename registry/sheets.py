"""A spreadsheet file, CSV or XLSX, as a header and numbered records of raw text."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from registry.domain.delimited import cut_records
from registry.workbooks import UnreadableWorkbookError, workbook_rows

LARGEST_FILE_BYTES = 200_000_000
UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class UnreadableSheetError(ValueError):
    """The file as a whole cannot be read; the message is a sentence saying what to do."""


@dataclass(frozen=True, kw_only=True)
class Record:
    """One record. `row` counts records, the header being 1; `cells` are raw and fit the header.

    `extra` holds filled cells beyond the header, `fault` says why the cells cannot be trusted.
    """

    row: int
    cells: tuple[str, ...]
    extra: tuple[str, ...] = ()
    fault: str | None = None

    @property
    def is_empty(self) -> bool:
        """No cell holds more than blanks: no row of its own, though it keeps its number."""
        return not any(cell.strip() for cell in (*self.cells, *self.extra))


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Headers as the file spells them, each once, the records with anything in them, and notes.

    A header that comes twice is followed by its number, "Notes (2)"; a nameless column that holds
    something is "(column 7)". `notes` are sentences about the file as a whole.
    """

    headers: tuple[str, ...]
    records: tuple[Record, ...]
    notes: tuple[str, ...] = ()

    def named(self) -> Iterator[tuple[int, dict[str, str]]]:
        """Each record's number and its raw cells by header."""
        for record in self.records:
            yield record.row, dict(zip(self.headers, record.cells, strict=True))


def read_sheet(path: Path) -> Sheet:
    """Read a CSV (UTF-8 with or without BOM, cp1252; comma, semicolon, tab) or an XLSX file.

    Raises UnreadableSheetError: no such file, empty, UTF-16, another format, damaged.
    """
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise UnreadableSheetError(f"{path.name} is larger than 200 MB. Split it into parts.")
        data = path.read_bytes()
    except OSError as error:
        raise UnreadableSheetError(
            f"{path} cannot be read: {error.strerror or error}. Check the name and the permissions."
        ) from error
    return parse_sheet(data=data, name=path.name)


def parse_sheet(*, data: bytes, name: str) -> Sheet:
    """The same from bytes already in hand; `name` is only for the message."""
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf"):
        raise UnreadableSheetError(f"{name} is empty. Export the sheet again, with its header row.")
    if data.startswith(b"PK\x03\x04"):
        try:
            rows, notes = workbook_rows(data)
        except UnreadableWorkbookError as error:
            raise UnreadableSheetError(f"{name}: {error}") from error
        return _sheet(name=name, rows=[(cells, None) for cells in rows], notes=notes)
    text, notes = _decoded(data=data, name=name)
    rows_with_faults = [(record.cells, record.fault) for record in cut_records(text)]
    return _sheet(name=name, rows=rows_with_faults, notes=notes)


def _decoded(*, data: bytes, name: str) -> tuple[str, tuple[str, ...]]:
    _refuse_other_formats(data=data, name=name)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = _decoded_cp1252(data=data, name=name)
    nuls = text.count("\x00")
    if not nuls:
        return text, ()
    return text.replace("\x00", ""), (
        f"{nuls} NUL characters (binary zero) were taken out. Check what wrote the file.",
    )


def _decoded_cp1252(*, data: bytes, name: str) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise UnreadableSheetError(
            f"{name} is neither UTF-8 nor Windows (cp1252) text: byte {data[error.start]:#04x} "
            f"in line {line}. Save it as CSV UTF-8."
        ) from error


def _refuse_other_formats(*, data: bytes, name: str) -> None:
    sample = data[:4000]
    if data.startswith(UTF16_MARKS) or sample.count(0) > len(sample) // 4:
        raise UnreadableSheetError(
            f'{name} is UTF-16 text ("Unicode text") or binary. Save it as CSV UTF-8 or as .xlsx.'
        )
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableSheetError(
            f"{name} is an old .xls workbook or has a password. Save it as a plain .xlsx."
        )
    if data.startswith((b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"{\\rtf")):
        raise UnreadableSheetError(f"{name} is no spreadsheet. Save the sheet as CSV or .xlsx.")


def _sheet(
    *, name: str, rows: Sequence[tuple[tuple[str, ...], str | None]], notes: tuple[str, ...]
) -> Sheet:
    filled = (index for index, (cells, _) in enumerate(rows) if any(c.strip() for c in cells))
    header_at = next(filled, None)
    if header_at is None:
        raise UnreadableSheetError(f"{name} is empty. Export the sheet again, with its header row.")
    header, header_fault = rows[header_at]
    if header_fault:
        raise UnreadableSheetError(f"{name}, header: {header_fault}")
    body = rows[header_at + 1 :]
    kept = _kept_columns(header=header, rows=[cells for cells, _ in body])
    records = (
        _record(row=number, cells=cells, fault=fault, width=len(header), kept=kept)
        for number, (cells, fault) in enumerate(body, start=2)
    )
    return Sheet(
        headers=_unique(header=header, kept=kept),
        records=tuple(record for record in records if not record.is_empty),
        notes=notes,
    )


def _kept_columns(*, header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[int]:
    """Where columns stand that have a name or hold anything; the blank margin is left out."""
    nameless = {place for place, cell in enumerate(header) if not cell.strip()}
    filled = {
        place for cells in rows for place in nameless if place < len(cells) and cells[place].strip()
    }
    return [place for place in range(len(header)) if place not in nameless or place in filled]


def _record(
    *, row: int, cells: tuple[str, ...], fault: str | None, width: int, kept: Sequence[int]
) -> Record:
    extra = tuple(cell for cell in cells[width:] if cell.strip())
    padded = cells[:width] + ("",) * (width - len(cells))
    return Record(row=row, cells=tuple(padded[at] for at in kept), extra=extra, fault=fault)


def _unique(*, header: Sequence[str], kept: Sequence[int]) -> tuple[str, ...]:
    seen: Counter[str] = Counter()
    names = []
    for place in kept:
        name = header[place].strip() or f"(column {place + 1})"
        seen[name] += 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(names)
