"""What people said, for the fixed cast: a contact, an objection, a letter back, a photo."""

from __future__ import annotations

from datetime import UTC, date, datetime

from notices.models import Contact, Delivery, HandoverPhoto, Letter, Objection, ReturnedLetter
from registry.models import Premises

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
ON = date(2026, 11, 25)


def rows_said(letter: Letter, *, premises: Premises) -> dict[str, int]:
    """Make one of each at a premises; return what was made, by kind."""
    contact = Contact.objects.create(
        program=letter.program,
        premises=premises,
        letter=letter,
        kind="call",
        on=ON,
        spoken_with="The caretaker",
        words="A tester is booked.",
        promised_for=date(2026, 12, 8),
        taken_by="a clerk",
        taken_at=AT,
        form_key="a form",
    )
    objection = Objection.objects.create(
        program=letter.program,
        premises=premises,
        letter=letter,
        kind="objection",
        raised_on=ON,
        raised_by="The owner",
        words="It is not ours.",
        review_on=date(2026, 12, 20),
        taken_by="a clerk",
        taken_at=AT,
    )
    returned = ReturnedLetter.objects.create(
        program=letter.program,
        letter=letter,
        how="undeliverable",
        came_back_on=ON,
        entered_at=AT,
        entered_by="a clerk",
    )
    door = Delivery.objects.create(letter=letter, channel="door", state="left", left_on=ON)
    photo = HandoverPhoto.objects.create(
        delivery=door,
        sent_sha256="0" * 64,
        sha256="1" * 64,
        content=b"a picture",
        width=1,
        height=1,
        taken_by="a clerk",
        stored_at=AT,
    )
    return {
        "contact": contact.pk,
        "objection": objection.pk,
        "returned": returned.pk,
        "photo": photo.pk,
    }
