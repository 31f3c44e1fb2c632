"""Checks the ledger against what is stored now: hashes, seals, dates and verdicts, each by name."""

from __future__ import annotations

import hashlib
from bisect import bisect_left
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.db.models import BinaryField, Exists, OuterRef
from django.db.models.functions import Cast

from notices.models import LetterFile
from registry.batches import in_batches
from registry.models import Merge, Program
from reports.domain.merkle import entry_bytes, leaf_hash, personal_digest, roots_of
from reports.ledger.entries import Source
from reports.ledger.erased import Erased
from reports.ledger.picture_sources import wrong_pictures
from reports.ledger.sealing import leaves
from reports.ledger.sources import BY_KIND
from reports.ledger.taken_back import TakenBack
from reports.models import LedgerEntry, LedgerSeal

AT_ONCE = 500
SLACK = timedelta(days=1)
DATED = ("fact", "field test")
"""Kinds whose entries say when they were recorded."""


def differences(program: Program, *, head: str = "") -> Iterator[str]:
    """Yield each difference in words; `head` is one printed earlier, `size:root` or the root.

    Cutting off the newest rows shows only against a head that left the building, or against
    a seal that was left behind.
    """
    yield from _numbering(program)
    for source in BY_KIND.values():
        yield from _rows(program, source=source)
    yield from _bytes(program)
    yield from wrong_pictures(program)
    yield from _slipped_in(program)
    yield from _seals(program, head=head)


def _numbering(program: Program) -> Iterator[str]:
    expected = 1
    rows = LedgerEntry.objects.filter(program=program).order_by("number")
    for number in rows.values_list("number", flat=True).iterator(chunk_size=5000):
        if number != expected:
            many = "Entry" if number == expected + 1 else "Entries"
            span = f"{expected}" if number == expected + 1 else f"{expected} to {number - 1}"
            yield f"{many} {span} missing from the ledger."
        expected = number + 1


def _rows(program: Program, *, source: Source) -> Iterator[str]:
    ids = list(
        LedgerEntry.objects.filter(program=program, kind=source.kind)
        .order_by("number")
        .values_list("pk", flat=True)
    )
    merged = _merged(program) if source.kind == "fact" else {}
    taken, erased = TakenBack(program), Erased(program).entries
    for some in in_batches(ids, size=AT_ONCE):
        entries = LedgerEntry.objects.filter(pk__in=some).order_by("number")
        subjects = [entry.subject for entry in entries]
        found = {row.pk: row for row in source.rows(program).filter(pk__in=subjects)}
        for entry in entries:
            yield from _entry(entry)
            row = found.get(entry.subject) or taken.row_of(entry)
            if row is None:
                yield f"{_named(entry)} is gone; the ledger has it as {_short(entry.body)}."
            else:
                yield from _row(entry, row=row, source=source, merged=merged, erased=erased)


def _entry(entry: LedgerEntry) -> Iterator[str]:
    data = entry_bytes(
        kind=entry.kind, subject=entry.subject, body=entry.body, personal=entry.personal
    )
    if leaf_hash(data).hex() != entry.leaf:
        yield f"Entry {entry.number} of the ledger itself was changed ({_named(entry)})."


def _row(
    entry: LedgerEntry,
    *,
    row: Any,
    source: Source,
    merged: dict[int, set[int]],
    erased: set[int],
) -> Iterator[str]:
    now = source.body(row)
    for name in sorted({*now, *entry.body}):
        was, stands = entry.body.get(name), now.get(name)
        if was != stands and not (name == "assembly" and stands in merged.get(was or 0, ())):
            yield f"{_named(entry)}: {name} was {was!r}, now {stands!r}."
    if not entry.salt and entry.number not in erased:
        yield f"{_named(entry)}: its salt was taken away, and no erasure on record says why."
    # Where a person was erased, the salt went too: there is nothing left to compare.
    if entry.salt and personal_digest(source.personal(row), salt=entry.salt) != entry.personal:
        yield f"{_named(entry)}: the personal data were changed."


def _merged(program: Program) -> dict[int, set[int]]:
    """Where the facts of a merged assembly may lawfully be now."""
    found: dict[int, set[int]] = {}
    rows = Merge.objects.filter(program=program, what="assembly", undone_at__isnull=True)
    for gone, kept in rows.values_list("gone_id", "kept_id"):
        found.setdefault(gone, set()).add(kept)
    return found


def _bytes(program: Program) -> Iterator[str]:
    """Every letter's kept bytes against the hash the ledger holds."""
    rows = LedgerEntry.objects.filter(program=program, kind="letter").order_by("number")
    gone = Erased(program).letters
    held = {one.subject: one for one in rows.iterator(chunk_size=2000) if one.subject not in gone}
    for some in in_batches(held, size=50):
        # SQLite keeps what it is given: text written over bytes is a difference and no crash.
        kept = LetterFile.objects.filter(pk__in=some).annotate(raw=Cast("pdf", BinaryField()))
        for pk, pdf in kept.values_list("pk", "raw"):
            if hashlib.sha256(bytes(pdf)).hexdigest() != held[pk].body.get("sha256"):
                yield f"{_named(held[pk])}: its kept bytes are not those that were sent."


def _slipped_in(program: Program) -> Iterator[str]:
    """Rows that say they were recorded before a seal which does not have them.

    A day is left for a long load that a seal overtook. A trial writes down the day it lives on,
    not the moment, so only seals since the go-live day are asked.
    """
    if program.is_trial or program.go_live_on is None:
        return
    rows = LedgerSeal.objects.filter(program=program, sealed_on__gte=program.go_live_on)
    seals = list(rows.order_by("size"))
    if not seals:
        return
    sizes = [one.size for one in seals]
    for kind in DATED:
        entries = LedgerEntry.objects.filter(program=program, kind=kind, number__gt=sizes[0])
        for number, subject, body in (
            entries.order_by("number")
            .values_list("number", "subject", "body")
            .iterator(chunk_size=5000)
        ):
            before = seals[bisect_left(sizes, number) - 1]
            yield from _too_early(kind, subject, str(body.get("recorded_at")), seal=before)
        known = LedgerEntry.objects.filter(program=program, kind=kind, subject=OuterRef("pk"))
        late = BY_KIND[kind].rows(program).filter(recorded_at__lt=seals[-1].sealed_at - SLACK)
        fresh = late.filter(~Exists(known)).order_by("pk")
        for pk, at in fresh.values_list("pk", "recorded_at").iterator(chunk_size=AT_ONCE):
            yield from _too_early(kind, pk, at.isoformat(), seal=seals[-1])


def _too_early(kind: str, pk: int, recorded_at: str, *, seal: LedgerSeal) -> Iterator[str]:
    at = datetime.fromisoformat(recorded_at)
    if at < seal.sealed_at - SLACK:
        yield (
            f"{kind.capitalize()} {pk} says it was recorded on {at:%Y-%m-%d}; the seal of "
            f"{seal.sealed_on} does not have it."
        )


def _seals(program: Program, *, head: str) -> Iterator[str]:
    seals = list(LedgerSeal.objects.filter(program=program).order_by("size"))
    size, root = _told(head, seals=seals)
    wanted = {seal.size for seal in seals} | ({size} if size else set())
    roots = dict(roots_of(leaves(program), at=wanted))
    have = LedgerEntry.objects.filter(program=program).count()
    for seal in seals:
        yield from _compared(f"The seal of {seal.sealed_on}", seal.size, seal.root, roots, have)
    if not head:
        return
    if size:
        yield from _compared("The head given", size, root, roots, have)
    else:
        yield f"No seal of this ledger has the root {root[:16]}…: entries were cut off or changed."


def _compared(what: str, size: int, root: str, roots: dict[int, str], have: int) -> Iterator[str]:
    if size > have:
        many = "entry is" if size - have == 1 else "entries are"
        yield f"{what} covers {size:,} entries; the newest {size - have:,} {many} gone."
    elif roots.get(size) != root:
        yield f"{what} over {size:,} entries does not hold: something under it was changed."


def _told(head: str, *, seals: list[LedgerSeal]) -> tuple[int, str]:
    size, colon, root = head.replace(" ", "").rpartition(":")
    if colon and size.isascii() and size.isdigit():
        return int(size), root.lower()
    known = {seal.root: seal.size for seal in seals}
    return known.get(root.lower(), 0), root.lower()


def _named(entry: LedgerEntry) -> str:
    what = entry.body.get("number") or entry.body.get("letter") or entry.subject
    return f"{entry.kind.capitalize()} {what}"


def _short(body: dict[str, Any]) -> str:
    return ", ".join(f"{key} {value}" for key, value in sorted(body.items()) if value)[:160]
