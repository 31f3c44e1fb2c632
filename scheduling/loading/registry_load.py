"""A spreadsheet of assemblies into a program: matched, landed, replayed, in one transaction."""

from collections.abc import Callable, Sequence
from datetime import datetime

from django.db import transaction

from registry.domain.cells import Fault
from registry.domain.header_synonyms import REGISTRY_HEADERS
from registry.domain.headers import ColumnMap, recognise
from registry.domain.kinds import DateOrder
from registry.domain.row_reading import read_row
from registry.domain.statements import StatedRow
from registry.domain.whole_file import CheckedRows, check_whole_file
from registry.load_reports import LoadReport
from registry.models import LoadBatch, Program, SavedHeader
from registry.moments import recording_moment
from registry.sheets import Sheet
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.actions.replaying import replay_assemblies
from scheduling.loading.assemblies import land_assemblies
from scheduling.loading.assigning import land_assignments
from scheduling.loading.comparing import compare_due_dates
from scheduling.loading.findings import report_of
from scheduling.loading.keeping import WHAT, keep_batch
from scheduling.loading.landing import Landing, LoadHand
from scheduling.loading.matching import match_rows
from scheduling.loading.merged_rows import apart_from_merged
from scheduling.loading.openings import Wanted, open_program
from scheduling.loading.owners import land_owners
from scheduling.loading.recording import land_facts
from scheduling.loading.sites import land_sites
from scheduling.loading.stored import read_stored
from scheduling.loading.what_visits_need import land_needs

NEEDED = ("type", "size_in", "serial", "address")
Step = Callable[[str], None]
STEPS = (
    "reading the file",
    "matching what is stored",
    "writing premises and owners",
    "writing assemblies",
    "recording facts",
    "working out due dates",
)


class _DryRun(Exception):  # noqa: N818 (it rolls back, and is no error)
    """Everything was done and is undone."""


def load_registry(
    *,
    source: SourceFile,
    wanted: Wanted,
    now: datetime,
    by: str,
    dry_run: bool = False,
    told: Step = lambda _: None,
) -> LoadReport:
    """Bring a spreadsheet into a program, in one transaction; rows with faults are set aside.

    `now` is the clock's moment; a trial records at noon of the day the load is of. A dry run
    does all of it and takes it back. `told` hears which step runs. Raises LoadRefusedError.
    """
    reports: list[LoadReport] = []
    try:
        with transaction.atomic():
            reports.append(_load(source=source, wanted=wanted, now=now, by=by, told=told))
            if dry_run:
                raise _DryRun
    except _DryRun:
        pass
    return reports[0]


def _load(*, source: SourceFile, wanted: Wanted, now: datetime, by: str, told: Step) -> LoadReport:
    told("reading the file")
    sheet = source.sheet()
    program, as_of = open_program(wanted=wanted, now=now, by=by)
    hand = LoadHand(as_of=as_of, at=recording_moment(program=program, as_of=as_of, now=now), by=by)
    columns = _columns(sheet=sheet, program=program)
    checked = _checked(sheet=sheet, columns=columns, program=program, hand=hand)
    told("matching what is stored")
    stored = read_stored(program)
    rows, merged = apart_from_merged(
        rows=checked.landing, stored=stored, program=program, columns=columns
    )
    landing = Landing(
        program=program,
        hand=hand,
        columns=columns,
        rows=rows,
        stored=stored,
        matching=match_rows(rows=rows, stored=stored),
        warnings=merged,
    )
    batch = LoadBatch.objects.create(
        program=program, what=WHAT, file_name=source.name[:300], as_of=as_of, at=hand.at, by=by
    )
    _land(landing=landing, batch=batch, told=told)
    report = report_of(sheet=sheet, checked=checked, landing=landing)
    keep_batch(
        batch=batch,
        digest=source.digest,
        checked=checked,
        landing=landing,
        report=report,
    )
    return report


def _columns(*, sheet: Sheet, program: Program) -> ColumnMap:
    saved = SavedHeader.objects.filter(program=program, what=WHAT)
    columns = recognise(
        headers=sheet.headers,
        synonyms=REGISTRY_HEADERS,
        saved=dict(saved.values_list("header", "field")),
    )
    if not any(columns.brings(field) for field in NEEDED):
        raise LoadRefusedError(
            "None of the columns is a type, size, serial or address, so this is no registry: "
            f"{', '.join(sheet.headers[:12])}. Name the columns in the first row."
        )
    return columns


def _checked(*, sheet: Sheet, columns: ColumnMap, program: Program, hand: LoadHand) -> CheckedRows:
    order = DateOrder(program.date_order)
    rows = []
    for record in sheet.records:
        cells = dict(zip(sheet.headers, record.cells, strict=True))
        row = read_row(row=record.row, cells=cells, columns=columns, order=order, as_of=hand.as_of)
        rows.append(_with_shape(row=row, fault=record.fault, extra=record.extra))
    return check_whole_file(rows=rows, columns=columns)


def _with_shape(*, row: StatedRow, fault: str | None, extra: Sequence[str]) -> StatedRow:
    """A row whose cells cannot be told apart, or are more than the header's, is set aside."""
    if fault:
        broken = Fault(row=row.row, column=None, value=row.cells[0], message=fault)
        return StatedRow(
            row=row.row,
            cells=row.cells,
            site=row.site,
            owner=row.owner,
            assembly=row.assembly,
            history=row.history,
            faults=(broken,),
        )
    if extra:
        message = (
            "The row has more cells than the header; put a cell that holds the separator into "
            "quotation marks, or name the column."
        )
        return row.with_fault(
            Fault(row=row.row, column=None, value=" | ".join(extra), message=message)
        )
    return row


def _land(*, landing: Landing, batch: LoadBatch, told: Step) -> None:
    told("writing premises and owners")
    site_of = land_sites(landing)
    land_owners(landing=landing, site_of=site_of)
    told("writing assemblies")
    landed = land_assemblies(landing=landing, site_of=site_of)
    land_needs(landing=landing, site_of=site_of, landed=landed)
    land_assignments(landing=landing, site_of=site_of)
    told("recording facts")
    land_facts(landing=landing, landed=landed, batch=batch)
    landing.assembly_of.update({row: assembly.pk for row, assembly in landed.items()})
    if landing.touched:
        told("working out due dates")
        replay_assemblies(
            program=landing.program,
            assembly_ids=landing.touched,
            as_of=landing.hand.as_of,
        )
    compare_due_dates(landing)
