"""What the ledger keeps of pictures and scans: the hash of each, and that some were removed."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from django.db.models import BinaryField
from django.db.models.functions import Cast

from notices.models import HandoverPhoto
from registry.batches import in_batches
from registry.domain.kinds import PictureKind
from registry.models import PictureRemoval, Program
from reports.erasing.removing import KEPT
from reports.ledger.entries import Plain, Source, moment
from reports.models import EntryPhoto, FieldEntry, Paper, PaperPage

AT_ONCE = 20
"""Pictures read at once by the check: a scan may hold fifteen megabytes."""


def kind_words(kind: str) -> str:
    """Return a kind of picture as the ledger names it: `handover photo`."""
    return kind.replace("-", " ")


def _handed_over(row: HandoverPhoto) -> Plain:
    return {
        "of": row.delivery.letter.number,
        "sha256": row.sha256,
        "stored_at": moment(row.stored_at),
    }


def _photo(row: EntryPhoto) -> Plain:
    return {
        "of": row.entry.receipt,
        "sha256": row.sha256,
        "received_at": moment(row.received_at),
    }


def _scan(row: Paper) -> Plain:
    return {"sha256": row.sha256, "kind": row.kind, "received_at": moment(row.received_at)}


def _signature(row: FieldEntry) -> Plain:
    return {
        "of": row.receipt,
        "sha256": row.signature_sha256,
        "received_at": moment(row.received_at),
    }


def _removal(row: PictureRemoval) -> Plain:
    return {
        "what": row.what,
        "subject": row.subject_id,
        "sha256": row.sha256,
        "was_whole": row.was_whole,
        "at": moment(row.at),
    }


PICTURES: tuple[Source, ...] = (
    Source(
        kind="handover photo",
        rows=lambda program: (
            KEPT[PictureKind.HANDED_OVER]
            .rows(program)
            .select_related("delivery__letter")
            .defer("content", "delivery__letter__content")
        ),
        body=_handed_over,
        personal=lambda row: {"by": row.taken_by},
    ),
    Source(
        kind="report photo",
        rows=lambda program: (
            KEPT[PictureKind.REPORT_PHOTO]
            .rows(program)
            .select_related("entry")
            .defer("content", "entry__signature", "entry__body")
        ),
        body=_photo,
        personal=lambda row: {},
    ),
    Source(
        kind="scanned report",
        rows=lambda program: KEPT[PictureKind.SCAN].rows(program).defer("content"),
        body=_scan,
        personal=lambda row: {"by": row.by},
    ),
    Source(
        kind="drawn signature",
        rows=lambda program: KEPT[PictureKind.SIGNATURE].rows(program).defer("signature", "body"),
        body=_signature,
        personal=lambda row: {"by": row.by},
    ),
    Source(
        kind="picture removed",
        rows=lambda program: PictureRemoval.objects.filter(program=program),
        body=_removal,
        personal=lambda row: {"by": row.by, "reason": row.reason},
    ),
)


def wrong_pictures(program: Program) -> Iterator[str]:
    """Yield each picture whose bytes are not those of its hash, or gone without a removal."""
    for kind, kept in KEPT.items():
        rows = kept.rows(program).order_by("pk")
        gone = {
            one.subject_id: one for one in PictureRemoval.objects.filter(program=program, what=kind)
        }
        for some in in_batches(list(rows.values_list("pk", flat=True)), size=AT_ONCE):
            raw = rows.filter(pk__in=some).annotate(raw=Cast(kept.content, BinaryField()))
            for pk, sha256, data in raw.values_list("pk", kept.sha256, "raw"):
                fault = _fault(bytes(data or b""), sha256=sha256, removal=gone.get(pk))
                if fault:
                    yield f"{kind_words(kind).capitalize()} {pk}: {fault}"
    left = PaperPage.objects.filter(paper__program=program, paper__in=_removed_scans(program))
    for pk in left.order_by("paper").values_list("paper", flat=True).distinct():
        yield f"Scanned report {pk}: it was removed, and pictures of its pages are there."


def removals_told(program: Program) -> Iterator[str]:
    """Yield each removal: what, when, by whom, why. No difference."""
    for row in PictureRemoval.objects.filter(program=program).order_by("at", "pk"):
        yield (
            f"{kind_words(row.what).capitalize()} {row.subject_id} was removed on "
            f"{row.at:%Y-%m-%d} by {row.by}, its hash kept: {row.reason} (SHA-256 {row.sha256})"
        )


def _fault(data: bytes, *, sha256: str, removal: PictureRemoval | None) -> str:
    if removal is None and not data:
        return "its bytes are gone, and no removal on record says why."
    if removal is not None and data:
        return "it was removed, and bytes are there again."
    if removal is not None and removal.sha256 != sha256:
        return "its hash is not the one it had when it was removed."
    if removal is not None and not removal.was_whole:
        return "when it was removed, its bytes were not those of its hash any more."
    if removal is None and hashlib.sha256(data).hexdigest() != sha256:
        return "its kept bytes are not those of its hash."
    return ""


def _removed_scans(program: Program) -> list[int]:
    rows = PictureRemoval.objects.filter(program=program, what=PictureKind.SCAN)
    return list(rows.values_list("subject_id", flat=True))
