"""A program's own acceptance limits: copied from a method, changed with a citation, then kept."""

from __future__ import annotations

import hashlib
import re

from django.db import IntegrityError, transaction

from registry.changes import Hand, record_change
from registry.models import Program
from reports.domain.limits import Limits
from reports.domain.limits_text import LimitsError, read_limits
from reports.models import FieldTest, OwnMethod
from reports.queries.methods import method_names
from scheduling.queries.rulebooks import NoRulebookError, books_of

_NAME = re.compile(r"[a-z][a-z0-9-]{1,38}[a-z0-9]")


class OwnMethodError(ValueError):
    """Limits that cannot be kept; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@transaction.atomic
def keep_own_method(
    *, program: Program, method: OwnMethod | None, copied_from: str, text: str, hand: Hand
) -> OwnMethod:
    """Keep limits of a program's own under the name their text gives.

    Limits that a rulebook in force names, or that a test was judged by, are changed no more:
    they are copied under another name, and the rulebook names that one from a day on. So a
    verdict can always be worked out again. Raises OwnMethodError.
    """
    limits = _read(text)
    _check_name(limits.name)
    if method is not None and limits.name != method.name:
        message = f"The name stays {method.name}. Copy the method to give it another one."
        raise OwnMethodError(field="text", message=message)
    if method is not None and (used := used_by(method)):
        raise OwnMethodError(field="text", message=f"{used} Copy it under another name instead.")
    row = method or OwnMethod(program=program, name=limits.name, copied_from=copied_from)
    before = row.sha256
    row.text, row.sha256 = text, hashlib.sha256(text.encode()).hexdigest()
    row.made_at, row.by = hand.at, hand.by
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        message = f"The program has a method {limits.name} already. Give this one another name."
        raise OwnMethodError(field="text", message=message) from error
    record_change(
        hand=hand,
        what="ownmethod",
        subject_id=row.pk,
        label=row.name,
        before={"sha256": before},
        after={"sha256": row.sha256, "title": limits.title},
        program=program,
    )
    return row


def used_by(method: OwnMethod) -> str:
    """Why limits are changed no more, or an empty text."""
    if FieldTest.objects.filter(program=method.program, method=method.name).exists():
        return "Tests were judged by these limits."
    try:
        dated = books_of(method.program).dated
    except NoRulebookError:
        return ""
    named = any(entry.rulebook.method == method.name for entry in dated)
    return "A rulebook that was put in force names these limits." if named else ""


def _read(text: str) -> Limits:
    try:
        return read_limits(text)
    except LimitsError as error:
        raise OwnMethodError(field="text", message=str(error)) from error


def _check_name(name: str) -> None:
    if name in method_names():
        message = f"{name} is a method that ships. Give the copy a name of its own."
        raise OwnMethodError(field="text", message=message)
    if not _NAME.fullmatch(name):
        message = "Write the name in small letters, digits and dashes, as district-kpa."
        raise OwnMethodError(field="text", message=message)
