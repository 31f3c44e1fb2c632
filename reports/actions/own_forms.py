"""A form of the purveyor's own taken in once, mapped, and taken out again."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError, transaction

from registry.changes import Hand, record_change
from registry.models import Firm, Program
from reports.domain.own_forms import guessed
from reports.models import OwnForm
from reports.own_forms.filling import CSV, PDF, read_csv_form
from reports.own_forms.pdf_forms import OwnFormError, read_pdf_form


def keep_own_form(
    *,
    program: Program,
    firm: Firm | None,
    name: str,
    file: tuple[str, bytes],
    hand: Hand,
) -> OwnForm:
    """Take in a fillable PDF or a CSV, with a first mapping by its own words.

    `file` is its name and bytes; what it is, its content says. Raises OwnFormError.
    """
    file_name, data = file
    called = name.strip()[:120]
    if not called:
        raise OwnFormError("Give the form a name by which you will know it.")
    if b"%PDF-" in data[:1024]:
        content, blanks = read_pdf_form(data)
        kind = PDF
    else:
        content, blanks, kind = data, read_csv_form(data, name=file_name), CSV
    try:
        with transaction.atomic():
            form = OwnForm.objects.create(
                program=program,
                firm=firm,
                name=called,
                kind=kind,
                file_name=file_name[:200],
                content=content,
                sha256=hashlib.sha256(data).hexdigest(),
                blanks=[one.plain() for one in blanks],
                mapping={blank: one.plain() for blank, one in guessed(blanks).items()},
                made_at=hand.at,
                by=hand.by,
            )
            _record(form, before={}, after={"name": called, "kind": kind}, hand=hand)
    except IntegrityError as error:
        raise OwnFormError(f"There is a form called “{called}” already. Name it otherwise.") from (
            error
        )
    return form


@transaction.atomic
def map_own_form(
    *, form: OwnForm, mapping: Mapping[str, Mapping[str, Any]], date_style: str, hand: Hand
) -> None:
    """Keep which of our fields goes into which blank, and how dates are written."""
    before = {"mapping": form.mapping, "date_style": form.date_style}
    form.mapping = {name: dict(one) for name, one in mapping.items()}
    form.date_style = date_style
    form.save(update_fields=["mapping", "date_style"])
    after = {"mapping": form.mapping, "date_style": form.date_style}
    _record(form, before=before, after=after, hand=hand)


@transaction.atomic
def drop_own_form(*, form: OwnForm, hand: Hand) -> None:
    """Take a form out; what it filled before is with whoever downloaded it."""
    _record(form, before={"name": form.name, "kind": form.kind}, after={}, hand=hand)
    form.delete()


def _record(
    form: OwnForm, *, before: Mapping[str, Any], after: Mapping[str, Any], hand: Hand
) -> None:
    record_change(
        hand=hand,
        what="own form",
        subject_id=form.pk,
        label=form.name,
        before=before,
        after=after,
        program=form.program,
        firm=form.firm,
    )
