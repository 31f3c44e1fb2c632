"""Keep one row as a person wrote it, with one change row of what differs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from django.db import IntegrityError, models, transaction

from registry.changes import Hand, record_change
from registry.models import Firm, Program

Row = TypeVar("Row", bound=models.Model)


class RefusedChangeError(ValueError):
    """A rule forbids a change: which field, and what to do instead."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


def keep(
    row: Row,
    *,
    values: Mapping[str, Any],
    hand: Hand,
    program: Program | None,
    firm: Firm | None = None,
) -> Row:
    """Write `values` into a row and say what changed. Raises IntegrityError as the database does.

    A row that is new has no before. Call it inside a transaction.
    """
    is_new = row.pk is None
    before = {} if is_new else {name: as_json(getattr(row, name)) for name in values}
    for name, value in values.items():
        setattr(row, name, value)
    row.save()
    record_change(
        hand=hand,
        what=row._meta.model_name or "",
        subject_id=row.pk,
        label=str(row),
        before=before,
        after={name: as_json(getattr(row, name)) for name in values},
        program=program,
        firm=firm,
    )
    return row


def keep_once(
    row: Row,
    *,
    values: Mapping[str, Any],
    hand: Hand,
    program: Program | None,
    refusal: RefusedChangeError,
    firm: Firm | None = None,
) -> Row:
    """The same, with `refusal` raised where another row is already known by the same name."""
    try:
        with transaction.atomic():
            return keep(row, values=values, hand=hand, program=program, firm=firm)
    except IntegrityError as error:
        raise refusal from error


def as_json(value: object) -> object:
    """A value as a change row keeps it: figures, dates and rows as text."""
    if value is None or isinstance(value, bool | int | list | dict):
        return value
    if isinstance(value, date | Decimal):
        return str(value)
    return str(value)
