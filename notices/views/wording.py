"""Wording: the office's own sentences for each kind of letter, drafted, looked at, put in force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from notices.actions.own_wording import (
    WordingRefusedError,
    drop_draft,
    empty_fields,
    keep_draft,
    put_in_force,
    restore,
    use_built_in,
)
from notices.catalogues import words_in
from notices.domain.composing import built_in_opening
from notices.domain.kinds import Work
from notices.domain.own_words import FIELDS, LONGEST, Part
from notices.domain.wording import title_of
from notices.models import Wording
from notices.queries.wordings import (
    DRAFT,
    IN_FORCE,
    WordingKey,
    keys_of_letters,
    own_words_of,
    versions_of,
)
from notices.views.wording_preview import key_or_404, warnings_about
from registry.access import Verb
from registry.console import Refused
from scheduling.views.desk import Desk, at_desk

LANGUAGES: Final = {"en": "English", "es": "Spanish"}
PARTS: Final = {
    Part.OPENING: (
        "First sentences",
        "what the thing asked for is good for; after them the letter says what is due, and why",
    ),
    Part.EXPLANATION: ("Explanation", "a paragraph of its own above the table"),
    Part.CLOSING: ("Closing words", "a paragraph after \u201cIf you disagree\u201d"),
}
WORKS: Final = {
    Work.TEST: "About tests",
    Work.PROTECTION: "About protection of a service",
    Work.SURVEY: "About surveys",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPart:
    """One part of the editor: its words, and what stands there or is typed."""

    name: str
    label: str
    help: str
    text: str
    faults: tuple[str, ...] = ()


@require_GET
@at_desk(verb=Verb.LOOK)
def wordings(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every kind of letter in each language, and whose words it has."""
    found: dict[tuple[str, str, str], dict[str, Wording]] = {}
    rows = Wording.objects.filter(program=desk.program, state__in=(IN_FORCE, DRAFT))
    for row in rows:
        found.setdefault((row.work, row.kind, row.language), {})[row.state] = row
    context = {"desk": desk, "works": _works(found), "languages": list(LANGUAGES.values())}
    return render(request, "notices/wordings.html", context)


def _works(found: dict[tuple[str, str, str], dict[str, Wording]]) -> list[dict[str, Any]]:
    words = words_in("en")
    works: dict[Work, list[dict[str, Any]]] = {}
    for work, kind in keys_of_letters():
        cells = []
        for language, name in LANGUAGES.items():
            kept = found.get((work, kind, language), {})
            cells.append(
                {
                    "language": language,
                    "name": name,
                    "in_force": kept.get(IN_FORCE),
                    "draft": kept.get(DRAFT),
                }
            )
        title = title_of(kind, words=words, work=work)
        works.setdefault(work, []).append({"kind": kind.value, "title": title, "cells": cells})
    return [
        {"work": work.value, "title": WORKS[work], "kinds": kinds} for work, kinds in works.items()
    ]


@require_http_methods(["GET", "HEAD", "POST"])
@at_desk(verb=Verb.LOOK)
def wording(request: HttpRequest, desk: Desk, work: str, kind: str, language: str) -> HttpResponse:
    """The editor of one kind in one language, its versions, and what is done with them."""
    key = key_or_404(work=work, kind=kind, language=language)
    if request.method != "POST":
        return render(request, "notices/wording.html", _context(desk, key=key))
    if not desk.may("set_up"):
        raise PermissionDenied
    typed = {part.value: request.POST.get(part.value, "").replace("\x00", "") for part in Part}
    names = (desk.program.code, key.work, key.kind, key.language)
    try:
        number = _act(request, desk, key=key, typed=typed)
    except WordingRefusedError as refusal:
        context = _context(desk, key=key, typed=typed, refusal=refusal)
        return render(request, "notices/wording.html", context, status=422)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        if request.POST.get("act") == "look":
            return redirect(f"{reverse('wording-preview', args=names)}?wording={number}")
    return redirect("wording", *names)


def _act(request: HttpRequest, desk: Desk, *, key: WordingKey, typed: dict[str, str]) -> int:
    """Do what was asked for; the number of the wording it was about."""
    act, hand, program = request.POST.get("act", "keep"), desk.hand(), desk.program
    told = request.POST.get("number", "")
    number = int(told) if told.isascii() and told.isdigit() and len(told) < 9 else 0
    if act == "force":
        put_in_force(program, key=key, number=number, hand=hand)
        messages.success(
            request, f"Wording {number} is in force: letters composed from now on have it."
        )
    elif act == "built-in":
        if use_built_in(program, key=key, hand=hand):
            messages.success(request, "Letters composed from now on have the built-in words.")
    elif act == "drop":
        if drop_draft(program, key=key, hand=hand):
            messages.success(request, "The draft is put away.")
    elif act == "restore":
        kept = restore(program, key=key, number=number, hand=hand)
        messages.success(
            request, f"The words of {number} are draft {kept.number}. Look, then put it in force."
        )
    else:
        kept = keep_draft(program, key=key, texts=typed, hand=hand)
        messages.success(request, f"Draft {kept.number} is kept. Nothing changes in letters yet.")
        number = kept.number
    return number


def _context(
    desk: Desk,
    *,
    key: WordingKey,
    typed: dict[str, str] | None = None,
    refusal: WordingRefusedError | None = None,
) -> dict[str, Any]:
    versions = versions_of(desk.program, key=key)
    draft = next((row for row in versions if row.state == DRAFT), None)
    in_force = next((row for row in versions if row.state == IN_FORCE), None)
    shown = typed or (draft or in_force or Wording(texts={})).texts
    words = words_in(key.language)
    checked = draft or in_force
    return {
        "desk": desk,
        "key": key,
        "title": title_of(key.kind, words=words_in("en"), work=key.work),
        "language_name": LANGUAGES[key.language],
        "work_name": WORKS[key.work],
        "parts": _parts(shown, refusal=refusal),
        "has_faults": refusal is not None,
        "built_in": built_in_opening(key.work, count=1, words=words),
        "longest": LONGEST,
        "fields": FIELDS,
        "empty": empty_fields(desk.program),
        "versions": versions,
        "draft": draft,
        "in_force": in_force,
        "may_edit": desk.may("set_up"),
        "warnings": (warnings_about(desk, key=key, own=own_words_of(checked)) if checked else []),
    }


def _parts(texts: dict[str, str], *, refusal: WordingRefusedError | None) -> list[ShownPart]:
    faults = refusal.faults if refusal else {}
    return [
        ShownPart(
            name=part.value,
            label=label,
            help=help_text,
            text=str(texts.get(part.value, "")),
            faults=tuple(faults.get(part, ())),
        )
        for part, (label, help_text) in PARTS.items()
    ]
