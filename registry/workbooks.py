"""The first sheet of an XLSX workbook as text, each cell as a person would read it."""

import datetime
import io
import zipfile
from decimal import Decimal
from typing import TypeAlias

from python_calamine import CalamineError, CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

LARGEST_UNPACKED_BYTES = 300_000_000

Cell: TypeAlias = (
    float | str | datetime.time | datetime.date | datetime.datetime | datetime.timedelta
)


class UnreadableWorkbookError(ValueError):
    """The bytes are no workbook that can be read; the message says what to do."""


def workbook_rows(data: bytes) -> tuple[list[tuple[str, ...]], tuple[str, ...]]:
    """All rows of the first visible sheet that holds anything, from row 1 on, and notes.

    Empty rows are kept, so that a position in the list is the row a spreadsheet program shows.
    Raises UnreadableWorkbookError.
    """
    _refuse_oversize(data)
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(data)) as workbook:
            visible = [
                sheet.name
                for sheet in workbook.sheets_metadata
                if sheet.typ == SheetTypeEnum.WorkSheet
                and sheet.visible == SheetVisibleEnum.Visible
            ]
            filled = [
                (name, rows)
                for name in visible
                if (rows := workbook.get_sheet_by_name(name).to_python(skip_empty_area=False))
            ]
    except CalamineError as error:
        raise UnreadableWorkbookError(
            f"The workbook cannot be read ({error}). Open it, save it again as .xlsx without a "
            "password, or save it as CSV."
        ) from error
    if not filled:
        return [], ()
    name, rows = filled[0]
    texts = [tuple(cell_text(cell) for cell in row) for row in rows]
    return texts, _left_unread(name=name, others=[other for other, _ in filled[1:]])


def cell_text(cell: Cell) -> str:
    """One cell as text: whole numbers without a point, days in ISO form, truth as TRUE or FALSE."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, int | float):
        return _number_text(cell)
    if isinstance(cell, datetime.datetime):
        at_midnight = cell.time() == datetime.time()
        return cell.date().isoformat() if at_midnight else cell.isoformat(sep=" ")
    return str(cell)


def _number_text(number: float) -> str:
    """A spreadsheet keeps fifteen digits; what lies beyond is noise of the binary form."""
    exact = Decimal(format(number, ".15g"))
    if not exact.is_finite():
        return str(number)
    return format(exact.normalize(), "f") if exact else "0"


def _left_unread(*, name: str, others: list[str]) -> tuple[str, ...]:
    if not others:
        return ()
    listed = ", ".join(repr(other) for other in others)
    return (f"Only the sheet {name!r} was read; {listed} was not. Save it as a file of its own.",)


def _refuse_oversize(data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = {entry.filename for entry in archive.infolist()}
            unpacked = sum(entry.file_size for entry in archive.infolist())
    except zipfile.BadZipFile as error:
        raise UnreadableWorkbookError(
            "The file starts like a workbook and is damaged. Save it again as .xlsx or CSV."
        ) from error
    if not any(name.startswith("xl/") for name in names):
        raise UnreadableWorkbookError(
            "The file is a compressed file, not an Excel workbook. Save the sheet as .xlsx or CSV."
        )
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise UnreadableWorkbookError(
            f"The workbook unpacks to {unpacked // 1_000_000} MB, more than is read. "
            "Split it, or save it as CSV."
        )
