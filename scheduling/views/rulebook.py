"""The rulebook in force, read as numbered sentences with citations; nothing is changed here."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from scheduling.views.desk import Desk, Seat, at_desk
from scheduling.views.rules_in_force import adoption_of, rulebook_of
from scheduling.wording.rules import ladder_sentences, rule_sentences


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def rulebook(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The rules as sentences."""
    book = rulebook_of(desk)
    context = {
        "desk": desk,
        "adoption": adoption_of(desk),
        "book": book,
        "rules": rule_sentences(book) if book else [],
        "ladder": ladder_sentences(book.ladder) if book else [],
    }
    return render(request, "scheduling/rulebook.html", context)
