"""Rulebooks into versioned rows, and one put in force for a program from a day."""

from __future__ import annotations

import hashlib
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from registry.models import Program
from scheduling.models import Adoption, Rulebook
from scheduling.queries.shipped import (
    UnknownRulebookError,
    shipped_names,
    shipped_rulebook,
    shipped_text,
)


class AdoptionError(ValueError):
    """A rulebook that cannot be put in force; the message says why and what to do."""


def ensure_rulebooks() -> None:
    """Put the shipped rulebooks into rows: a text not seen before becomes a new edition.

    Doing it again changes nothing. A row once written is never edited.
    """
    with transaction.atomic():
        shipped = Rulebook.objects.filter(program=None, is_draft=False).order_by("edition")
        newest = {row.name: row for row in shipped.only("name", "edition", "sha256")}
        for name in shipped_names():
            _ensure(name, newest=newest.get(name))


def _ensure(name: str, *, newest: Rulebook | None) -> None:
    text = shipped_text(name)
    digest = hashlib.sha256(text.encode()).hexdigest()
    if newest is not None and newest.sha256 == digest:
        return
    rulebook = shipped_rulebook(name)
    Rulebook.objects.get_or_create(
        name=name,
        edition=1 if newest is None else newest.edition + 1,
        program=None,
        defaults={
            "title": rulebook.title,
            "text": text,
            "sha256": digest,
            "gaps": list(rulebook.gaps),
            "loaded_at": timezone.now(),
        },
    )


def _newest(name: str, program: Program | None = None) -> Rulebook | None:
    rows = Rulebook.objects.filter(name=name, program=program, is_draft=False)
    return rows.order_by("-edition").first()


def put_in_force(
    *,
    program: Program,
    name: str,
    effective_on: date,
    at: datetime | None = None,
    by: str = "",
    reason: str = "",
) -> Adoption:
    """Put the newest edition of a rulebook in force for a program from a day.

    The program's own rulebook of that name goes before a shipped one. Doing it again
    changes nothing. Raises UnknownRulebookError, and AdoptionError for one with gaps or a
    day that already has another. Replay the program afterwards.
    """
    rulebook = _newest(name, program) or _newest(name)
    if rulebook is None:
        raise UnknownRulebookError(
            f"No rulebook is called {name!r}; there are {', '.join(_known(program))}."
        )
    if rulebook.gaps:
        listed = "; ".join(str(gap) for gap in rulebook.gaps)
        raise AdoptionError(f"Rulebook {name} has gaps and cannot be put in force yet: {listed}.")
    adoption, _ = Adoption.objects.get_or_create(
        program=program,
        effective_on=effective_on,
        defaults={
            "rulebook": rulebook,
            "recorded_at": at or timezone.now(),
            "by": by,
            "reason": reason,
        },
    )
    if adoption.rulebook_id != rulebook.pk:
        raise AdoptionError(
            f"{adoption.rulebook} is already in force for {program.code} from {effective_on}:"
            " choose another day."
        )
    return adoption


def _known(program: Program) -> list[str]:
    rows = Rulebook.objects.filter(program=None)
    rows = rows | Rulebook.objects.filter(program=program, is_draft=False)
    return sorted(set(rows.values_list("name", flat=True)))
