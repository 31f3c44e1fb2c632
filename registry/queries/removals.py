"""Which pictures were removed: asked by every page that would show them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from registry.domain.kinds import PictureKind
from registry.models import PictureRemoval


def removal_of(kind: PictureKind, pk: int) -> PictureRemoval | None:
    """Return the removal of one picture, or None where its bytes are kept."""
    return PictureRemoval.objects.filter(what=kind, subject_id=pk).first()


def removals_of(kind: PictureKind, keys: Iterable[int]) -> dict[int, PictureRemoval]:
    """Return the removals among some pictures of a kind, by the picture's number."""
    rows = PictureRemoval.objects.filter(what=kind, subject_id__in=list(keys))
    return {row.subject_id: row for row in rows}


def with_removals(kind: PictureKind, rows: Sequence[Any]) -> list[Any]:
    """Return the rows, each with its `removal` or None; one query, none for no rows."""
    gone = removals_of(kind, (row.pk for row in rows)) if rows else {}
    for row in rows:
        row.removal = gone.get(row.pk)
    return list(rows)


def removed_words(removal: PictureRemoval) -> str:
    """Return what is said where the picture would be: day, who, and that its hash is kept."""
    return (
        f"Removed on {removal.at:%Y-%m-%d} by {removal.by}; its hash is kept: SHA-256 "
        f"{removal.sha256}."
    )
