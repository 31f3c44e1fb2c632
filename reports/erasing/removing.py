"""Removes the bytes of a picture or scan: its hash stays, on its row and in the ledger."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet

from notices.models import HandoverPhoto
from registry.changes import Hand
from registry.console import Refused
from registry.domain.kinds import PictureKind
from registry.models import PictureRemoval, Program
from reports.models import EntryPhoto, EntryVersion, FieldEntry, Paper, PaperKeying, PaperPage

MIME = {"pdf": "application/pdf", "jpeg": "image/jpeg", "png": "image/png"}
ASIDE = "Its scan was removed from the record."


@dataclass(frozen=True, kw_only=True)
class Kept:
    """Where one kind of picture is kept: its rows, the fields of its bytes and of their hash."""

    rows: Callable[[Program], QuerySet[Any]]
    content: str
    sha256: str


def _signed(program: Program) -> QuerySet[Any]:
    return FieldEntry.objects.filter(program=program).exclude(signature_sha256="")


KEPT: Mapping[PictureKind, Kept] = {
    PictureKind.HANDED_OVER: Kept(
        rows=lambda program: HandoverPhoto.objects.filter(delivery__letter__program=program),
        content="content",
        sha256="sha256",
    ),
    PictureKind.REPORT_PHOTO: Kept(
        rows=lambda program: EntryPhoto.objects.filter(entry__program=program),
        content="content",
        sha256="sha256",
    ),
    PictureKind.SCAN: Kept(
        rows=lambda program: Paper.objects.filter(program=program),
        content="content",
        sha256="sha256",
    ),
    PictureKind.SIGNATURE: Kept(rows=_signed, content="signature", sha256="signature_sha256"),
}


def bytes_of(row: Model, *, kind: PictureKind) -> tuple[bytes, str]:
    """Return the kept bytes of a picture and their type; no bytes once it was removed."""
    data = bytes(getattr(row, KEPT[kind].content) or b"")
    if kind is PictureKind.SCAN:
        return data, MIME.get(str(getattr(row, "kind", "")), "application/octet-stream")
    return data, "image/png" if kind is PictureKind.SIGNATURE else "image/jpeg"


def remove_picture(
    program: Program, *, kind: PictureKind, pk: int, hand: Hand
) -> PictureRemoval | None:
    """Remove the bytes of one picture for good and record it; None where there is no such one.

    Refused without a reason, and where it was removed before. With a scan go its pages, its
    name and what was read from it and waits for a second person; with a signature the copy in
    the record as it came. All of it or nothing.
    """
    if not hand.reason.strip():
        raise Refused("Say why: who asked for it, and when.")
    kept = KEPT[kind]
    with transaction.atomic():
        ids = kept.rows(program).filter(pk=pk).values("pk")
        row = kept.rows(program).model.objects.select_for_update().filter(pk__in=ids).first()
        if row is None:
            return None
        data, _ = bytes_of(row, kind=kind)
        sha256 = str(getattr(row, kept.sha256))
        if not data or PictureRemoval.objects.filter(what=kind, subject_id=pk).exists():
            raise Refused("It was removed before: there is nothing left to remove.")
        type(row).objects.filter(pk=pk).update(**{kept.content: b""})
        _with_it(row, hand=hand)
        return PictureRemoval.objects.create(
            program=program,
            what=kind,
            subject_id=pk,
            sha256=sha256,
            size=len(data),
            was_whole=hashlib.sha256(data).hexdigest() == sha256,
            at=hand.at,
            by=hand.by,
            reason=hand.reason.strip()[:500],
        )


def _with_it(row: Any, *, hand: Hand) -> None:
    """What holds the same picture, or its name, goes too."""
    if isinstance(row, Paper):
        PaperPage.objects.filter(paper=row).delete()
        PaperKeying.objects.filter(paper=row, paper__entry__isnull=True).delete()
        aside: dict[str, Any] = {"file_name": ""}
        if row.entry_id is None and not row.put_aside:
            # A paper that nobody can read any more must not wait to be keyed.
            aside |= {"put_aside": ASIDE, "put_aside_at": hand.at, "put_aside_by": hand.by}
        Paper.objects.filter(pk=row.pk).update(**aside)
        if row.entry is not None:
            _rewrite(row.entry, "paper", "file")
    elif isinstance(row, FieldEntry):
        _rewrite(row, "signature", "png")


def _rewrite(entry: FieldEntry, part: str, name: str) -> None:
    """Take one value out of the record as it came, and out of its other versions."""
    holders: list[Any] = [entry, *EntryVersion.objects.filter(entry=entry)]
    for holder in holders:
        found = holder.body.get(part)
        if isinstance(found, dict) and found.get(name):
            body = {**holder.body, part: {**found, name: ""}}
            type(holder).objects.filter(pk=holder.pk).update(body=body)
