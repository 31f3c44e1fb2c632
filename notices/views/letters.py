"""Letters: the list, one letter with its kept pages, and the release of those that wait."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from django.contrib import messages
from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.http import require_GET, require_POST

from notices.actions.releasing import release_letters
from notices.domain.kinds import LetterState
from notices.models import Letter, LetterNotice, OrderSignature
from notices.queries.letter_after import letter_after
from notices.queries.letter_names import letter_name
from registry.access import Verb
from scheduling.views.desk import Desk, at_desk, name_of

_ROWS: Final = 50
_WAITING: Final = "waiting"
_MOST_AT_ONCE: Final = 500


def letters_seen(desk: Desk) -> QuerySet[Letter]:
    """The letters of this desk's program: the office's alone."""
    return Letter.objects.filter(program=desk.program)


def letter_seen(desk: Desk, pk: int) -> Letter:
    """A letter of this desk's program; Http404 otherwise."""
    letter = letters_seen(desk).select_related("recipient", "file").filter(pk=pk).first()
    if letter is None:
        raise Http404("No such letter.")
    return letter


def _wanted(found: QuerySet[Letter], query: QueryDict) -> QuerySet[Letter]:
    state, kind = query.get("state", ""), query.get("kind", "")
    if state == _WAITING:
        found = found.filter(state=LetterState.COMPOSED, is_order=False)
    elif state in set(LetterState):
        found = found.filter(state=state)
    if kind:
        found = found.filter(kind=kind[:40].replace("\x00", ""))
    on = _day(query.get("on", ""))
    if on:
        found = found.filter(Q(composed_on=on) | Q(left_on=on))
    words = query.get("q", "")[:100].replace("\x00", "").strip()
    if words:
        to = Q(recipient__name__icontains=words) | Q(address_lines__0__icontains=words)
        found = found.filter(Q(number__icontains=words) | to)
    return found


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


@require_GET
@at_desk(verb=Verb.LOOK)
def letters(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The letters, newest first, by state, kind and day."""
    found = _wanted(letters_seen(desk), request.GET)
    page = _page(request.GET)
    rows = list(
        found.select_related("recipient")
        .defer("content")
        .annotate(notice_count=Subquery(_carried()), work=F("content__work"))
        .order_by("-composed_on", "-pk")[(page - 1) * _ROWS : page * _ROWS + 1]
    )
    named = [(row, letter_name(row.kind, work=row.work)) for row in rows[:_ROWS]]
    kinds = letters_seen(desk).order_by("kind").values_list("kind", flat=True).distinct()
    waiting = letters_seen(desk).filter(state=LetterState.COMPOSED)
    query = request.GET.copy()
    query.pop("page", None)
    context = {
        "desk": desk,
        "rows": named,
        "has_next": len(rows) > _ROWS,
        "page": page,
        "total": found.count(),
        "kinds": [(one, letter_name(one)) for one in kinds],
        "states": [state.value for state in LetterState],
        "state": request.GET.get("state", ""),
        "kind": request.GET.get("kind", ""),
        "on": request.GET.get("on", ""),
        "search": request.GET.get("q", ""),
        "waiting": waiting.filter(is_order=False).count(),
        "orders": waiting.filter(is_order=True).count(),
        "query": query.urlencode(),
        "is_filtered": any(request.GET.get(name) for name in ("state", "kind", "on", "q")),
        "can_release": desk.acts["release"] and request.GET.get("state") == _WAITING,
    }
    return render(request, "notices/letters.html", context)


def _carried() -> QuerySet[LetterNotice, Any]:
    """How many notices a letter carries, without grouping by all its columns."""
    mine = LetterNotice.objects.filter(letter=OuterRef("pk")).order_by().values("letter")
    return mine.annotate(n=Count("pk")).values("n")


def _page(query: QueryDict) -> int:
    text = query.get("page", "1")
    return int(text) if text.isascii() and text.isdigit() and 0 < int(text) < 100_000 else 1


@require_GET
@at_desk(verb=Verb.LOOK)
def letter(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One letter: its state, to whom, what it carries, and its pages as kept."""
    one = letter_seen(desk, pk)
    carried = (
        LetterNotice.objects.filter(letter=one)
        .select_related("notice__assembly", "notice__premises", "notice__obligation__connection")
        .order_by("notice__assembly__serial", "pk")
    )
    context = {
        "desk": desk,
        "letter": one,
        "name": letter_name(one.kind, work=one.content.get("work")),
        "carried": list(carried[:200]),
        "deliveries": list(one.deliveries.select_related("run").prefetch_related("log")),
        "has_pages": hasattr(one, "file") and not one.content.get("erased"),
        "signature": OrderSignature.objects.filter(letter=one).first(),
        "can_release": (
            desk.acts["release"] and not one.is_order and one.state == LetterState.COMPOSED
        ),
        "is_open_order": one.is_order and one.state == LetterState.COMPOSED,
        **letter_after(one),
    }
    return render(request, "notices/letter.html", context)


@require_GET
@xframe_options_sameorigin
@at_desk(verb=Verb.LOOK)
def letter_pdf(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The bytes as they were kept; never drawn again."""
    one = letter_seen(desk, pk)
    if not hasattr(one, "file"):
        raise Http404("This letter has not been drawn yet.")
    if one.content.get("erased"):
        raise Http404("The person it went to was erased: its bytes are gone, its hash stays.")
    response = HttpResponse(bytes(one.file.pdf), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{one.number}.pdf"'
    response["Cache-Control"] = "private, max-age=0"
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_POST
@at_desk(verb=Verb.RELEASE)
def letters_release(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Release the chosen letters; one whose cause is gone is told, not sent."""
    ids = [int(text) for text in request.POST.getlist("letter") if text.isdigit()]
    if not ids:
        messages.error(request, "No letter was chosen. Tick those that may leave.")
        return redirect(_back(request, desk))
    done = release_letters(
        program=desk.program,
        letter_ids=ids[:_MOST_AT_ONCE],
        by=name_of(desk.person),
        at=desk.now,
        today=desk.today,
    )
    if done.released:
        messages.success(request, _released(len(done.released), desk=desk))
    for number, why in list(done.refused.items())[:10]:
        messages.error(request, f"{number} stays: {why}")
    return redirect(_back(request, desk))


def _released(count: int, *, desk: Desk) -> str:
    """What a release came to: in a trial they have left, else they go by their channels."""
    if desk.program.is_trial:
        return f"{count:,} {'letter has' if count == 1 else 'letters have'} left today."
    what = "letter is" if count == 1 else "letters are"
    return f"{count:,} {what} released. E-mail goes by itself; paper waits for a paper run."


def _back(request: HttpRequest, desk: Desk) -> str:
    one = request.POST.get("back", "")
    if one.isdigit():
        return reverse("letter", args=[desk.program.code, int(one)])
    return reverse("letters", args=[desk.program.code]) + "?state=waiting"
