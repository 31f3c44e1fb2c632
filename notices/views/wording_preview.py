"""A letter with chosen words about a real case, as a page and as the PDF; nothing is kept."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.http import require_GET

from notices.catalogues import SECOND_LANGUAGES, words_in
from notices.domain.composing import compose
from notices.domain.content import LetterContent, prose_of
from notices.domain.kinds import LetterKind, Work
from notices.domain.own_words import BUILT_IN, OwnWords, Part
from notices.domain.plain_words import warnings_of
from notices.domain.wording import title_of
from notices.links import owner_link
from notices.models import Wording
from notices.queries.logos import logo_of
from notices.queries.sample_briefs import NUMBER, cases_for, sample_brief
from notices.queries.wordings import (
    DROPPED,
    WordingKey,
    keys_of_letters,
    own_words_of,
    versions_of,
)
from notices.rendering.letters import render as draw
from notices.rendering.missing_glyphs import what_is_missing
from registry.access import Verb
from scheduling.views.desk import Desk, at_desk


def key_or_404(*, work: str, kind: str, language: str) -> WordingKey:
    """Return what an address names; Http404 for a kind or language there is not."""
    known = {(one.value, other.value) for one, other in keys_of_letters()}
    if (work, kind) not in known or language not in {"en", *SECOND_LANGUAGES}:
        raise Http404("There is no such letter.")
    return WordingKey(work=Work(work), kind=LetterKind(kind), language=language)


@require_GET
@at_desk(verb=Verb.LOOK)
def wording_preview(
    request: HttpRequest, desk: Desk, work: str, kind: str, language: str
) -> HttpResponse:
    """The letter in words, with the case it is looked at with."""
    key = key_or_404(work=work, kind=kind, language=language)
    row, case, content = _asked(request, desk, key=key)
    cases = cases_for(desk.program, work=key.work, kind=key.kind, today=desk.today)
    if case is None and cases:
        case = cases[0].id
    context: dict[str, Any] = {
        "desk": desk,
        "key": key,
        "title": title_of(key.kind, words=words_in("en"), work=key.work),
        "row": row,
        "content": content,
        "cases": cases,
        "case": case,
        "missing": _missing(content),
        "query": request.GET.urlencode(),
    }
    return render(request, "notices/wording_preview.html", context)


@require_GET
@xframe_options_sameorigin
@at_desk(verb=Verb.LOOK)
def wording_preview_pdf(
    request: HttpRequest, desk: Desk, work: str, kind: str, language: str
) -> HttpResponse:
    """The letter as it would be printed; its code leads nowhere."""
    key = key_or_404(work=work, kind=kind, language=language)
    _row, _case, content = _asked(request, desk, key=key)
    if content is None:
        raise Http404("There is no case to look at it with.")
    logo = logo_of(desk.program, sha256=content.letterhead.logo)
    drawn = draw(content, link=owner_link(NUMBER), logo=logo)
    response = HttpResponse(drawn.pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="preview-{key.kind}.pdf"'
    response["Cache-Control"] = "no-store, private"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def content_with(
    desk: Desk, *, key: WordingKey, own: OwnWords, case: int | None = None
) -> LetterContent | None:
    """Return the letter whole in the key's language; None where the program has no such case."""
    brief = sample_brief(desk.program, work=key.work, kind=key.kind, today=desk.today, case=case)
    return compose(brief, words=words_in(key.language), own=own) if brief else None


def warnings_about(desk: Desk, *, key: WordingKey, own: OwnWords) -> list[str]:
    """Say what is not plain in a letter with these words, and what could not be printed."""
    texts = [text for part in Part if (text := own.text_of(part))]
    content = content_with(desk, key=key, own=own)
    read = list(prose_of(content)) if content else texts
    found = list(warnings_of(read, language=key.language))
    return [*found, *filter(None, [what_is_missing(texts)])]


def _missing(content: LetterContent | None) -> str:
    if content is None:
        return ""
    return what_is_missing([*prose_of(content), *content.address_lines])


def _asked(
    request: HttpRequest, desk: Desk, *, key: WordingKey
) -> tuple[Wording | None, int | None, LetterContent | None]:
    """The wording and the case that the address names, and the letter they make."""
    row = _chosen(request, desk, key=key)
    case = _number(request.GET.get("case", ""))
    own = own_words_of(row) if row else BUILT_IN
    return row, case, content_with(desk, key=key, own=own, case=case)


def _chosen(request: HttpRequest, desk: Desk, *, key: WordingKey) -> Wording | None:
    """The version asked for, or the newest; None for the built-in words."""
    told = request.GET.get("wording", "")
    rows = [row for row in versions_of(desk.program, key=key) if row.state != DROPPED or told]
    if not told:
        return rows[0] if rows else None
    number = _number(told)
    if number == 0:
        return None
    found = next((row for row in rows if row.number == number), None)
    if found is None:
        raise Http404("There is no such wording.")
    return found


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None
