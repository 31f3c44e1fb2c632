"""A refreshed customer file from billing: it proposes, brings new accounts, overwrites nothing."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from registry.changes import Hand, record_batch
from registry.domain.cells import Fault
from registry.domain.customer_differences import differences, missing
from registry.domain.customer_rows import StatedCustomer, customer_headers, read_customer
from registry.domain.headers import ColumnMap, recognise
from registry.domain.identity import account_key
from registry.domain.proposals import Difference
from registry.header_hints import unread_columns
from registry.load_reports import LoadReport
from registry.models import LoadBatch, Premises, Program, SavedHeader, SetAsideRow
from registry.moments import recording_moment
from registry.sheets import Record, Sheet
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.actions.replaying import replay_premises
from scheduling.loading.customer_report import CustomerReport
from scheduling.loading.known_accounts import KnownAccounts, known_accounts
from scheduling.loading.new_accounts import bring_in_accounts
from scheduling.loading.proposing import propose
from scheduling.models import Adoption

WHAT = "customers"
NEEDED = ("account", "address")
WHOLE_FILE = 0.5
"""Below this share of the open accounts a file is a part, and what it leaves out says nothing."""


class _DryRun(Exception):  # noqa: N818 (it rolls back, and is no error)
    """Everything was done and is undone."""


def load_customers(
    *,
    source: SourceFile,
    program: Program,
    as_of: date,
    now: datetime,
    by: str,
    dry_run: bool = False,
) -> CustomerReport:
    """Compare a customer file with the registry; differences wait for a person as proposals.

    Accounts nobody knew are brought in. The same file again proposes nothing new, and neither
    does what a person refused. Raises LoadRefusedError.
    """
    reports: list[CustomerReport] = []
    try:
        with transaction.atomic():
            Program.objects.select_for_update().get(pk=program.pk)
            at = recording_moment(program=program, as_of=as_of, now=now)
            hand = Hand(by=by, at=at, reason=f"Load of {source.name}"[:500])
            reports.append(_load(source=source, program=program, as_of=as_of, hand=hand))
            if dry_run:
                raise _DryRun
    except _DryRun:
        pass
    return reports[0]


@dataclass(kw_only=True)
class _Found:
    """What a file came to, row by row."""

    rows: list[StatedCustomer]
    warnings: list[Fault]
    fresh: list[StatedCustomer]
    differences: list[Difference]
    subjects: set[str]


def _load(*, source: SourceFile, program: Program, as_of: date, hand: Hand) -> CustomerReport:
    sheet = source.sheet()
    columns = _columns(sheet=sheet, program=program)
    rows = [_read(record, sheet=sheet, columns=columns) for record in sheet.records]
    accounts = known_accounts(program)
    found = _compared(rows=rows, accounts=accounts, columns=columns)
    seen = LoadBatch.objects.filter(program=program, what=WHAT, file_sha256=source.digest).exists()
    batch = LoadBatch.objects.create(
        program=program, what=WHAT, file_name=source.name[:300], as_of=as_of, at=hand.at,
        by=hand.by, file_sha256=source.digest,
    )  # fmt: skip
    created = bring_in_accounts(program=program, rows=found.fresh, batch=batch, hand=hand)
    _ask_of(created, program=program, as_of=as_of)
    raised = propose(
        program=program, found=found.differences, subjects=found.subjects, batch=batch, hand=hand
    )
    report = _report(found=found, sheet=sheet, columns=columns, created=created, raised=raised)
    _keep(batch=batch, report=report, rows=found.rows, hand=hand, created=created, seen=seen)
    return report


def _ask_of(created: dict[int, Premises], *, program: Program, as_of: date) -> None:
    """Work out what is owed of new accounts: surveys, and protection where it lacks."""
    ids = {site.pk for site in created.values()}
    if ids and Adoption.objects.filter(program=program).exists():
        replay_premises(program=program, premises_ids=ids, as_of=as_of)


def _columns(*, sheet: Sheet, program: Program) -> ColumnMap:
    saved = SavedHeader.objects.filter(program=program, what=WHAT)
    columns = recognise(
        headers=sheet.headers,
        synonyms=customer_headers(sheet.headers),
        saved=dict(saved.values_list("header", "field")),
    )
    if not any(columns.brings(field) for field in NEEDED):
        raise LoadRefusedError(
            "None of the columns is an account or an address, so this is no customer file: "
            f"{', '.join(sheet.headers[:12])}. Name the columns in the first row."
        )
    return columns


def _read(record: Record, *, sheet: Sheet, columns: ColumnMap) -> StatedCustomer:
    cells = dict(zip(sheet.headers, record.cells, strict=True))
    row = read_customer(row=record.row, cells=cells, columns=columns)
    if not record.fault and not record.extra:
        return row
    message = record.fault or "The row has more cells than the header; name the column."
    value = record.cells[0] if record.fault else " | ".join(record.extra)
    fault = Fault(row=record.row, column=None, value=value, message=message)
    return _with_fault(row, fault)


def _with_fault(row: StatedCustomer, fault: Fault) -> StatedCustomer:
    return StatedCustomer(
        row=row.row,
        cells=row.cells,
        site=row.site,
        owner=row.owner,
        faults=(*row.faults, fault),
        warnings=row.warnings,
    )


def _compared(
    *, rows: Sequence[StatedCustomer], accounts: KnownAccounts, columns: ColumnMap
) -> _Found:
    good = [row for row in rows if not row.faults]
    meant = accounts.match(good)
    found = _Found(rows=[], warnings=[], fresh=[], differences=[], subjects=set())
    said: dict[tuple[str, str], Difference] = {}
    for row in rows:
        known = None if row.faults else meant[row.row]
        if row.faults:
            found.rows.append(row)
        elif known is not None:
            found.rows.append(row)
            _keep_subjects(found, known_id=known.id, party=known.owner.id if known.owner else None)
            for one in differences(said=row, known=known):
                _keep_first(one, said=said, found=found, columns=columns)
        else:
            found.rows.append(_new_account(row, found=found, columns=columns, accounts=accounts))
    found.differences += _missing(rows=good, accounts=accounts, meant=meant, columns=columns)
    return found


def _keep_subjects(found: _Found, *, known_id: int, party: int | None) -> None:
    found.subjects.add(f"premises:{known_id}")
    if party is not None:
        found.subjects.add(f"party:{party}")


def _keep_first(
    one: Difference,
    *,
    said: dict[tuple[str, str], Difference],
    found: _Found,
    columns: ColumnMap,
) -> None:
    """Keep the first of a kind and subject; another row that says something else is told."""
    earlier = said.setdefault((one.kind, one.subject), one)
    if earlier is one:
        found.differences.append(one)
    elif earlier.after != one.after and one.row is not None:
        message = f"Row {earlier.row} says otherwise of the same one, which is taken; make them "
        found.warnings.append(
            Fault(row=one.row, column=None, value=None, message=f"{message}agree.")
        )


def _new_account(
    row: StatedCustomer, *, found: _Found, columns: ColumnMap, accounts: KnownAccounts
) -> StatedCustomer:
    """A row that no premises answers to: brought in, or set aside where it cannot be."""
    if not row.site.address:
        several = accounts.by_account.get(account_key(row.site.account))
        header = columns.header_of("address")
        message = (
            "The account has several premises; write the address of the one that is meant."
            if several
            else "The account is not on record, and no address stands here; write the address."
        )
        return _with_fault(row, Fault(row=row.row, column=header, value=None, message=message))
    if row.is_closed:
        message = "A closed account that is not on record; it is not brought in."
        column = columns.header_of("status")
        found.warnings.append(Fault(row=row.row, column=column, value=None, message=message))
    else:
        found.fresh.append(row)
    return row


def _missing(
    *,
    rows: Sequence[StatedCustomer],
    accounts: KnownAccounts,
    meant: dict[int, Any],
    columns: ColumnMap,
) -> list[Difference]:
    """Accounts that a whole file leaves out: closed, it seems."""
    named = {known.id for known in meant.values() if known}
    there = [known for known in accounts.all() if known.account and not known.is_closed]
    if not columns.brings("account") or not there:
        return []
    if sum(known.id in named for known in there) < WHOLE_FILE * len(there):
        return []
    return [missing(known=known) for known in there if known.id not in named]


def _report(
    *,
    found: _Found,
    sheet: Sheet,
    columns: ColumnMap,
    created: dict[int, Any],
    raised: Sequence[Difference],
) -> CustomerReport:
    rejected = [fault for row in found.rows for fault in row.faults]
    warnings = [
        *(Fault(row=1, column=None, value=None, message=note) for note in sheet.notes),
        *unread_columns(columns=columns, synonyms=customer_headers(sheet.headers)),
        *(warning for row in found.rows if not row.faults for warning in row.warnings),
        *found.warnings,
    ]
    proposed = {one.row for one in raised if one.row is not None}
    aside = len({fault.row for fault in rejected})
    base = LoadReport(
        rows=len(found.rows),
        created=len(created),
        updated=0,
        unchanged=len(found.rows) - aside - len(created) - len(proposed),
        rejected=rejected,
        warnings=sorted(warnings, key=lambda one: one.row),
        columns=columns.public(),
    )
    kinds = Counter(one.kind.value for one in raised)
    return CustomerReport(base=base, proposed=len(proposed), proposals=dict(sorted(kinds.items())))


def _keep(
    *,
    batch: LoadBatch,
    report: CustomerReport,
    rows: Sequence[StatedCustomer],
    hand: Hand,
    created: dict[int, Any],
    seen: bool,
) -> None:
    """Keep the batch; of a file seen before that did nothing, none."""
    if seen and not created and not report.proposals:
        batch.delete()
        return
    batch.tally = {**report.base.tally(), "proposed": report.proposed}
    batch.headers = list(report.base.columns)
    batch.columns = dict(report.base.columns)
    batch.save(update_fields=["tally", "headers", "columns"])
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
    if created:
        lines = [
            {"row": row, "premises": site.pk, "created": True} for row, site in created.items()
        ]
        record_batch(hand=hand, batch=batch, differences=lines)
