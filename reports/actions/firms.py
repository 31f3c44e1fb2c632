"""Where a testing company is reached: kept with what was before, for it and for the program."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Firm, Program

FIELDS = ("address", "city", "state", "zip", "email", "phone", "language")


@transaction.atomic
def keep_where_reached(
    firm: Firm, *, values: Mapping[str, str], program: Program, hand: Hand
) -> None:
    """Keep a company's postal address, e-mail, telephone and language.

    A company is one row for all programs that accept it, so each of them sees the change.
    """
    row = Firm.objects.select_for_update().get(pk=firm.pk)
    before = {name: getattr(row, name) for name in FIELDS}
    for name in FIELDS:
        setattr(row, name, values[name])
    row.save(update_fields=FIELDS)
    record_change(
        hand=hand,
        what="testing company",
        subject_id=row.pk,
        label=row.name,
        before=before,
        after={name: getattr(row, name) for name in FIELDS},
        program=program,
        firm=row,
    )
