"""Every rulebook a program may read: what is in force and will be, editions, drafts, shipped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from registry.models import Program
from scheduling.domain.rulebook import Rulebook as Book
from scheduling.models import Adoption, Rulebook
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shipped import UnknownRulebookError, shipped_names, shipped_rulebook


@dataclass(frozen=True, slots=True, kw_only=True)
class Shipped:
    """A rulebook that ships, in a line: `open_gaps` are not transcribed."""

    name: str
    title: str
    place: str
    open_gaps: int


def adoptions_of(program: Program) -> list[Adoption]:
    """Return every decision to put a rulebook in force, the latest day first."""
    rows = Adoption.objects.filter(program=program).select_related("rulebook")
    return list(rows.defer("rulebook__text").order_by("-effective_on", "-id"))


def still_to_come(adoptions: list[Adoption], *, today: date) -> list[Adoption]:
    """Return those whose day has not come: they may still be taken back."""
    return [one for one in adoptions if one.effective_on > today]


def drafts_of(program: Program) -> list[Rulebook]:
    """Return the program's drafts, by name."""
    rows = Rulebook.objects.filter(program=program, is_draft=True).defer("text")
    return list(rows.order_by("name"))


def readable_by(program: Program) -> QuerySet[Rulebook]:
    """Return the editions a program may read: its own, drafts too, and those that ship."""
    return Rulebook.objects.filter(Q(program=program) | Q(program__isnull=True))


def shipped_lines() -> list[Shipped]:
    """Return the rulebooks that ship, places after the teaching ones, by name."""
    books = [(name, shipped_rulebook(name)) for name in shipped_names()]
    lines = [
        Shipped(name=name, title=book.title, place=book.place, open_gaps=len(book.open_gaps))
        for name, book in books
    ]
    return sorted(lines, key=lambda line: (bool(line.place), line.place, line.name))


def named_book(*, program: Program, word: str) -> tuple[Book, Rulebook | None]:
    """Return the rulebook a word names: `draft:3`, `edition:3` or `shipped:plain-season`.

    With its row where it has one. Raises UnknownRulebookError.
    """
    kind, _, rest = word.partition(":")
    if kind == "shipped":
        return shipped_rulebook(rest), None
    if kind in ("draft", "edition") and rest.isascii() and rest.isdigit() and len(rest) < 19:
        row = readable_by(program).filter(pk=int(rest), is_draft=kind == "draft").first()
        if row is not None:
            return rulebook_from(row), row
    raise UnknownRulebookError(f"No rulebook of yours is called {word!r}.")


def book_called(*, program: Program, name: str) -> Book:
    """Return the rulebook of a name: the program's draft, else its newest edition, else shipped.

    Raises UnknownRulebookError.
    """
    own = Rulebook.objects.filter(program=program, name=name)
    row = own.order_by("-is_draft", "-edition").first()
    return rulebook_from(row) if row is not None else shipped_rulebook(name)
