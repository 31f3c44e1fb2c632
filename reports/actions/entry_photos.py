"""Photos of an entry: each comes by itself, is checked against its hash, and is kept once."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.db import transaction

from registry.photos import PictureError, redrawn
from reports.domain.entry_body import MOST_PHOTOS
from reports.models import EntryPhoto, FieldEntry


class PhotoRefusedError(ValueError):
    """A photo that is not kept; `try_again` says whether sending the same bytes may help."""

    def __init__(self, message: str, *, try_again: bool) -> None:
        super().__init__(message)
        self.try_again = try_again


def keep_photo(*, entry: FieldEntry, sha256: str, data: bytes, at: datetime) -> EntryPhoto:
    """Keep a photo, drawn anew; the same photo again is the one kept first.

    Raises PhotoRefusedError: damaged on the way, too large, no picture, or one too many.
    """
    kept = entry.photos.filter(sent_sha256=sha256).first()
    if kept is not None:
        return kept
    if hashlib.sha256(data).hexdigest() != sha256:
        raise PhotoRefusedError("The photo arrived damaged. It is sent again.", try_again=True)
    if entry.photos.count() >= MOST_PHOTOS:
        message = f"A report takes {MOST_PHOTOS} photos; this is one too many."
        raise PhotoRefusedError(message, try_again=False)
    try:
        picture = redrawn(data)
    except PictureError as error:
        raise PhotoRefusedError(str(error), try_again=False) from error
    with transaction.atomic():
        kept, _ = EntryPhoto.objects.get_or_create(
            entry=entry,
            sent_sha256=sha256,
            defaults={
                "sha256": hashlib.sha256(picture.content).hexdigest(),
                "content": picture.content,
                "width": picture.width,
                "height": picture.height,
                "received_at": at,
            },
        )
    return kept
