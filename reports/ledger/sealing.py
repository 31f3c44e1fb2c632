"""Writes what is new into the ledger and seals it: nightly, and whenever somebody asks."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Exists, Max, OuterRef, QuerySet

from notices.actions.clocks import locked_clock
from registry.batches import in_batches
from registry.models import Program
from reports.domain.merkle import entry_bytes, leaf_hash, personal_digest, root_of
from reports.ledger.entries import Source
from reports.ledger.sources import SOURCES, key_of
from reports.models import LedgerEntry, LedgerSeal

AT_ONCE = 1000
"""Entries written in one transaction."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sealed:
    """What a sealing came to: entries new, and the head as `size:root`."""

    program: str
    new: int
    head: str


def seal(program: Program, *, on: date, at: datetime) -> Sealed:
    """Write an entry for each row that has none, then the root over all; a second time is none.

    Two at once take turns at the program's clock; a kill leaves entries that the next seals.
    """
    new = sum(_written(program, source=source) for source in SOURCES)
    with transaction.atomic():
        locked_clock(program)
        size = LedgerEntry.objects.filter(program=program).count()
        last = LedgerSeal.objects.filter(program=program).first()
        if last is not None and last.size >= size:
            return Sealed(program=program.code, new=new, head=last.head)
        made = LedgerSeal.objects.create(
            program=program, size=size, root=root_of(leaves(program)), sealed_on=on, sealed_at=at
        )
    return Sealed(program=program.code, new=new, head=made.head)


def head_of(program: Program) -> str:
    """Return the newest head, `size:root`, or nothing where none was made."""
    last = LedgerSeal.objects.filter(program=program).first()
    return last.head if last is not None else ""


def leaves(program: Program) -> Iterator[bytes]:
    """Yield the leaf hashes of a program's entries, in order."""
    rows = LedgerEntry.objects.filter(program=program).order_by("number")
    for leaf in rows.values_list("leaf", flat=True).iterator(chunk_size=5000):
        yield bytes.fromhex(leaf)


def unwritten(program: Program, *, source: Source) -> QuerySet[LedgerEntry]:
    """Return the rows of a kind that the ledger does not have yet."""
    known = LedgerEntry.objects.filter(program=program, kind=source.kind, subject=OuterRef("pk"))
    return source.rows(program).filter(~Exists(known)).order_by("pk")


def _written(program: Program, *, source: Source) -> int:
    ids = list(unwritten(program, source=source).values_list("pk", flat=True))
    return sum(_write(program, source=source, ids=some) for some in in_batches(ids, size=AT_ONCE))


def _write(program: Program, *, source: Source, ids: list[int]) -> int:
    with transaction.atomic():
        locked_clock(program)
        rows = [
            row
            for some in in_batches(ids, size=500)
            for row in unwritten(program, source=source).filter(pk__in=some)
        ]
        last = LedgerEntry.objects.filter(program=program).aggregate(n=Max("number"))["n"] or 0
        LedgerEntry.objects.bulk_create(
            [
                _entry(program, source=source, row=row, number=number)
                for number, row in enumerate(rows, last + 1)
            ],
            batch_size=200,
        )
    return len(rows)


def _entry(program: Program, *, source: Source, row: object, number: int) -> LedgerEntry:
    salt = secrets.token_hex(16)
    personal = personal_digest(source.personal(row), salt=salt)
    subject, body = key_of(row), source.body(row)  # type: ignore[arg-type]
    data = entry_bytes(kind=source.kind, subject=subject, body=body, personal=personal)
    return LedgerEntry(
        program=program,
        number=number,
        kind=source.kind,
        subject=subject,
        body=body,
        salt=salt,
        personal=personal,
        leaf=leaf_hash(data).hex(),
    )
