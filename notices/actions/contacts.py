"""Writes down who spoke with whom at a premises; a promise may hold the next rung."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.stopping import go_on
from notices.domain.contacts import contact_faults
from notices.models import Contact, Letter
from registry.changes import Hand, record_change
from registry.models import Assembly, Premises
from scheduling.actions.by_hand.rows import RefusedChangeError


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A contact as a person wrote it down; `form_key` makes the same form one contact."""

    kind: str
    on: date | None
    words: str
    form_key: str
    spoken_with: str = ""
    promised_for: date | None = None
    assembly: Assembly | None = None
    letter: Letter | None = None


def write_down(premises: Premises, *, told: Told, day: Day, hand: Hand) -> Contact:
    """Keep a contact of a premises; sent twice it is one. Raises RefusedChangeError by field."""
    faults = contact_faults(
        kind=told.kind,
        on=told.on,
        words=told.words,
        promised_for=told.promised_for,
        today=day.on,
    )
    for field, message in faults.items():
        raise RefusedChangeError(field=field, message=message)
    assert told.on is not None
    with transaction.atomic():
        locked_clock(day.program)
        row, is_new = Contact.objects.get_or_create(
            program=day.program,
            form_key=told.form_key[:40],
            defaults={
                "premises": premises,
                "assembly": told.assembly,
                "letter": told.letter,
                "kind": told.kind,
                "on": told.on,
                "spoken_with": told.spoken_with.strip()[:200],
                "words": told.words.strip()[:2000],
                "promised_for": told.promised_for,
                "taken_by": hand.by,
                "taken_at": hand.at,
            },
        )
        if is_new:
            _note(row, hand=hand, before={}, after=_said(row))
            if row.promised_for is not None:
                go_on([premises.pk], program=day.program, today=day.on)
    return row


def withdraw_contact(row: Contact, *, day: Day, hand: Hand) -> bool:
    """Withdraw a contact entered by mistake, with a reason; False where somebody did before.

    What a promise in it held goes on. Raises RefusedChangeError without a reason.
    """
    if not hand.reason.strip():
        raise RefusedChangeError(field="reason", message="Write why it is withdrawn.")
    with transaction.atomic():
        locked_clock(day.program)
        changed = Contact.objects.filter(pk=row.pk, withdrawn_at__isnull=True).update(
            withdrawn_at=hand.at, withdrawn_by=hand.by, withdrawn_reason=hand.reason[:500]
        )
        if changed:
            _note(row, hand=hand, before={"withdrawn": False}, after={"withdrawn": True})
            go_on([row.premises_id], program=day.program, today=day.on)
    return changed == 1


def _said(row: Contact) -> dict[str, object]:
    return {
        "kind": row.kind,
        "on": row.on.isoformat(),
        "promised_for": row.promised_for.isoformat() if row.promised_for else None,
    }


def _note(row: Contact, *, hand: Hand, before: dict[str, object], after: dict[str, object]) -> None:
    record_change(
        hand=hand,
        what="contact",
        subject_id=row.pk,
        label=f"{row}, {row.premises}",
        before=before,
        after=after,
        program=row.program,
    )
