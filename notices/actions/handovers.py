"""A letter hung on a door or handed over: who, when, and a photo of it."""

from __future__ import annotations

import hashlib

from django.db import transaction

from notices.domain.returns import BY_A_PERSON
from notices.models import Delivery, HandoverPhoto
from registry.changes import Hand
from registry.console import Refused
from registry.photos import PictureError, redrawn

MOST_PHOTOS = 4


def keep_handover_photo(delivery: Delivery, *, data: bytes, hand: Hand) -> HandoverPhoto:
    """Keep a photo of a delivery, drawn anew without place and maker; once for a picture.

    Refused for another channel, one too many, or what is no picture.
    """
    if delivery.channel not in BY_A_PERSON:
        raise Refused("A photo is kept of a door tag or of a letter handed over.")
    sent = hashlib.sha256(data).hexdigest()
    known = delivery.photos.filter(sent_sha256=sent).first()
    if known is not None:
        return known
    if delivery.photos.count() >= MOST_PHOTOS:
        raise Refused(f"A delivery takes {MOST_PHOTOS} photos; this is one too many.")
    try:
        picture = redrawn(data)
    except PictureError as error:
        raise Refused(str(error)) from error
    with transaction.atomic():
        kept, _ = HandoverPhoto.objects.get_or_create(
            delivery=delivery,
            sent_sha256=sent,
            defaults={
                "sha256": hashlib.sha256(picture.content).hexdigest(),
                "content": picture.content,
                "width": picture.width,
                "height": picture.height,
                "taken_by": hand.by,
                "stored_at": hand.at,
            },
        )
    return kept
