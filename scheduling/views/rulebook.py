"""The rulebook in force as numbered sentences, and every other one there is to read."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET

from scheduling.domain.rulebook import Rulebook
from scheduling.queries.editions import (
    adoptions_of,
    drafts_of,
    readable_by,
    shipped_lines,
    still_to_come,
)
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shapes import shapes_in
from scheduling.queries.shipped import UnknownRulebookError, shipped_rulebook, shipped_text
from scheduling.views.desk import Desk, Seat, at_desk
from scheduling.views.rule_pages import read_book
from scheduling.views.rules_in_force import adoption_of, rulebook_of


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def rulebook(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The rules in force as sentences; the office also sees counts, editions and drafts."""
    book = rulebook_of(desk)
    context: dict[str, Any] = {"desk": desk, "adoption": adoption_of(desk)}
    is_office = desk.seat is Seat.OFFICE
    if book is not None:
        shapes = shapes_in(desk.program) if is_office else None
        context["read"] = read_book(book, shapes=shapes)
    if is_office:
        adoptions = adoptions_of(desk.program)
        context |= {
            "is_office": True,
            "adoptions": adoptions,
            "to_come": still_to_come(adoptions, today=desk.today),
            "drafts": drafts_of(desk.program),
            "shipped": shipped_lines(),
        }
    return render(request, "scheduling/rulebook.html", context)


@require_GET
@at_desk()
def shipped(request: HttpRequest, desk: Desk, name: str) -> HttpResponse:
    """A rulebook that ships, to be read, copied and compared."""
    try:
        book = shipped_rulebook(name)
    except UnknownRulebookError as error:
        raise Http404(str(error)) from error
    return _read(request, desk, book=book, word=f"shipped:{name}")


@require_GET
@at_desk()
def edition(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """An edition of the program's own, or one that ships, as it was adopted."""
    row = get_object_or_404(readable_by(desk.program), pk=pk)
    if row.is_draft:
        return redirect("rulebook-draft", code=desk.program.code, pk=row.pk)
    return _read(request, desk, book=rulebook_from(row), word=f"edition:{row.pk}", row=row)


def _read(
    request: HttpRequest, desk: Desk, *, book: Rulebook, word: str, row: Any = None
) -> HttpResponse:
    context = {
        "desk": desk,
        "read": read_book(book, shapes=shapes_in(desk.program)),
        "word": word,
        "row": row,
        "adoption": adoption_of(desk),
    }
    return render(request, "scheduling/rulebook_read.html", context)


@require_GET
@at_desk()
def toml(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The text of an edition or a draft, as it can be brought in again."""
    row = get_object_or_404(readable_by(desk.program), pk=pk)
    return _file(row.text, name=f"{row.name}-edition-{row.edition}.toml")


@require_GET
@at_desk()
def shipped_toml(request: HttpRequest, desk: Desk, name: str) -> HttpResponse:
    """The text of a rulebook that ships."""
    try:
        return _file(shipped_text(name), name=f"{name}.toml")
    except UnknownRulebookError as error:
        raise Http404(str(error)) from error


def _file(text: str, *, name: str) -> HttpResponse:
    answer = HttpResponse(text, content_type="application/toml; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
