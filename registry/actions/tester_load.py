"""A list of testers into a program: companies, certificates, gauges, calibrations, approvals."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db import transaction

from registry.actions.tester_book import TesterBook
from registry.changes import Hand, record_batch
from registry.domain.cells import Fault
from registry.domain.header_synonyms import TESTER_HEADERS
from registry.domain.headers import ColumnMap, recognise
from registry.domain.kinds import DateOrder
from registry.domain.tester_statements import StatedTester, read_tester_row
from registry.header_hints import unread_columns
from registry.load_reports import LoadReport
from registry.models import LoadBatch, Program, SavedHeader, SetAsideRow
from registry.moments import recording_moment
from registry.sheets import Record, Sheet
from registry.source_files import LoadRefusedError, SourceFile

WHAT = "testers"


@transaction.atomic
def load_testers(
    *, source: SourceFile, program: Program, as_of: date, now: datetime, by: str
) -> LoadReport:
    """Bring a testers' list into a program; rows with faults are set aside and kept.

    Several rows for one certificate bring several gauges, calibrations or terms; each is kept.
    The company, the tester and the gauge are approved from the certificate's first day. The
    same list again changes nothing. Raises LoadRefusedError for a file that is no such list.
    """
    sheet = source.sheet()
    columns = _columns(sheet=sheet, program=program)
    order = DateOrder(program.date_order)
    rows = [
        _read(record=record, sheet=sheet, columns=columns, order=order, as_of=as_of)
        for record in sheet.records
    ]
    book = TesterBook(program=program)
    for row in rows:
        if not row.faults:
            book.land(row)
    report = _report(rows=rows, book=book, columns=columns, sheet=sheet)
    hand = Hand(by=by, at=recording_moment(program=program, as_of=as_of, now=now))
    _keep(
        source=source, program=program, as_of=as_of, hand=hand, rows=rows, report=report, book=book
    )
    return report


def _columns(*, sheet: Sheet, program: Program) -> ColumnMap:
    saved = SavedHeader.objects.filter(program=program, what=WHAT)
    columns = recognise(
        headers=sheet.headers,
        synonyms=TESTER_HEADERS,
        saved=dict(saved.values_list("header", "field")),
    )
    if not columns.brings("certificate"):
        raise LoadRefusedError(
            "None of the columns is a certificate, so this is no list of testers: "
            f"{', '.join(sheet.headers[:12])}. Name the columns in the first row."
        )
    return columns


def _read(
    *, record: Record, sheet: Sheet, columns: ColumnMap, order: DateOrder, as_of: date
) -> StatedTester:
    cells = dict(zip(sheet.headers, record.cells, strict=True))
    if record.fault or record.extra:
        message = record.fault or "The row has more cells than the header; name the column."
        value = record.cells[0] if record.fault else " | ".join(record.extra)
        fault = Fault(row=record.row, column=None, value=value, message=message)
        return StatedTester(row=record.row, cells=record.cells, faults=(fault,))
    return read_tester_row(row=record.row, cells=cells, columns=columns, order=order, as_of=as_of)


def _report(
    *, rows: Sequence[StatedTester], book: TesterBook, columns: ColumnMap, sheet: Sheet
) -> LoadReport:
    rejected = [fault for row in rows for fault in row.faults]
    warnings = [
        *(Fault(row=1, column=None, value=None, message=note) for note in sheet.notes),
        *unread_columns(columns=columns, synonyms=TESTER_HEADERS),
        *_warnings(rows=rows, book=book, columns=columns),
    ]
    return LoadReport(
        rows=len(rows),
        created=len(book.created),
        updated=len(book.updated),
        unchanged=sum(not row.faults for row in rows) - len(book.created) - len(book.updated),
        rejected=rejected,
        warnings=warnings,
        columns=columns.public(),
    )


def _warnings(
    *, rows: Iterable[StatedTester], book: TesterBook, columns: ColumnMap
) -> Iterable[Fault]:
    for row in rows:
        if row.faults:
            continue
        yield from row.warnings
        for doubt in book.doubts.get(row.row, ()):
            header = columns.header_of("certificate")
            yield Fault(row=row.row, column=header, value=row.certificate, message=doubt)


def _keep(
    *,
    source: SourceFile,
    program: Program,
    as_of: date,
    hand: Hand,
    rows: Sequence[StatedTester],
    report: LoadReport,
    book: TesterBook,
) -> None:
    """Keep the batch with its set-aside rows; of a list seen before that changed nothing, none."""
    digest = source.digest
    seen = LoadBatch.objects.filter(program=program, what=WHAT, file_sha256=digest).exists()
    if seen and not book.created and not book.updated:
        return
    batch = LoadBatch.objects.create(
        program=program,
        what=WHAT,
        file_name=source.name[:300],
        file_sha256=digest,
        as_of=as_of,
        at=hand.at,
        by=hand.by,
        tally=report.tally(),
        headers=list(report.columns),
        columns=dict(report.columns),
    )
    SetAsideRow.objects.bulk_create(
        SetAsideRow(
            batch=batch,
            row=row.row,
            cells=list(row.cells),
            faults=[fault.as_json() for fault in row.faults],
        )
        for row in rows
        if row.faults
    )
    if book.differences:
        record_batch(hand=hand, batch=batch, differences=book.differences)
