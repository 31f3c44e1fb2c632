"""Which rulebook a program has in force, as the plain value the rules read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from registry.models import Program
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.timeline import RulebookFrom
from scheduling.models import Adoption
from scheduling.models import Rulebook as RulebookRow


class NoRulebookError(LookupError):
    """A program has no rulebook in force; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Books:
    """The rulebooks of a program from their days on, and the rows they were read from."""

    dated: tuple[RulebookFrom, ...]
    row_ids: dict[str, int]

    def current(self, day: date) -> Rulebook:
        """Return the rulebook in force on a day; the first holds from the start."""
        begun = [entry for entry in self.dated if entry.on <= day]
        return (begun[-1] if begun else self.dated[0]).rulebook


def rulebook_from(row: RulebookRow) -> Rulebook:
    """Return the rulebook of a stored row; its text never changes, so it is read once."""
    return replace(_read(row.sha256, row.text), edition=row.edition)


@lru_cache(maxsize=64)
def _read(_sha256: str, text: str) -> Rulebook:
    return read_rulebook(text)


def books_of(program: Program) -> Books:
    """Return every rulebook a program has adopted. Raises NoRulebookError."""
    adoptions = _adoptions(program)
    dated = tuple(
        RulebookFrom(
            on=adoption.effective_on,
            rulebook=rulebook_from(adoption.rulebook),
            recorded_at=adoption.recorded_at,
        )
        for adoption in adoptions
    )
    ids = {
        entry.rulebook.label: adoption.rulebook_id
        for entry, adoption in zip(dated, adoptions, strict=True)
    }
    return Books(dated=dated, row_ids=ids)


def rulebook_in_force(*, program: Program, on: date) -> Rulebook:
    """Return the rulebook in force on a day; the first holds from the start.

    Raises NoRulebookError where the program has none.
    """
    return rulebook_from(adoption_in_force(program=program, on=on).rulebook)


def adoption_in_force(*, program: Program, on: date) -> Adoption:
    """Return the adoption in force on a day; the first holds from the start."""
    adoptions = _adoptions(program)
    begun = [adoption for adoption in adoptions if adoption.effective_on <= on]
    return begun[-1] if begun else adoptions[0]


def _adoptions(program: Program) -> Sequence[Adoption]:
    found = list(
        Adoption.objects.filter(program=program)
        .select_related("rulebook")
        .order_by("effective_on", "id")
    )
    if not found:
        raise NoRulebookError(f"Program {program.code} has no rulebook in force: adopt one first.")
    return found
