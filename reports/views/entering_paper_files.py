"""Of a report on paper: its pages, the file as it came, and where a field stands on it."""

from __future__ import annotations

import json

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_GET, require_POST

from registry.access import Verb
from registry.domain.kinds import PictureKind
from registry.queries.removals import removal_of, removed_words
from reports.models import Paper, PaperPage, PaperSpot
from reports.views.entering_papers import paper_or_404
from scheduling.views.desk import Desk, at_desk

_MIME = {"pdf": "application/pdf", "jpeg": "image/jpeg", "png": "image/png"}


@require_GET
@at_desk(verb=Verb.ENTER_TEST)
def paper_page(request: HttpRequest, desk: Desk, pk: int, number: int) -> HttpResponse:
    """A page as a picture."""
    page = PaperPage.objects.filter(paper__program=desk.program, paper=pk, number=number).first()
    if page is None:
        raise Http404("No picture of such a page.")
    return _bytes(bytes(page.content), mime="image/jpeg")


@require_GET
@at_desk(verb=Verb.ENTER_TEST)
def paper_file(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The file as it came."""
    found = Paper.objects.filter(program=desk.program, pk=pk).first()
    if found is None:
        raise Http404("No such paper.")
    removal = removal_of(PictureKind.SCAN, pk)
    if removal is not None:
        raise Http404(removed_words(removal))
    return _bytes(bytes(found.content), mime=_MIME.get(found.kind, "application/octet-stream"))


def _bytes(content: bytes, *, mime: str) -> HttpResponse:
    headers = {"Cache-Control": "private, max-age=3600", "X-Content-Type-Options": "nosniff"}
    return HttpResponse(content, content_type=mime, headers=headers)


@require_POST
@at_desk(verb=Verb.ENTER_TEST)
def paper_spot(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Remember where a field stands on this printed form, for every paper on the same one."""
    found = paper_or_404(desk, pk)
    try:
        told = json.loads(request.body)
        field, page = str(told["field"])[:80], int(told["page"])
        across, down = float(told["across"]), float(told["down"])
    except (ValueError, KeyError, TypeError, RecursionError):
        return JsonResponse({"message": "This is no place on a page."}, status=422)
    if not (field and 0 <= across <= 1 and 0 <= down <= 1 and 1 <= page <= found.page_count):
        return JsonResponse({"message": "This is no place on a page."}, status=422)
    PaperSpot.objects.update_or_create(
        program=desk.program,
        layout=found.layout,
        field=field,
        defaults={"page": page, "across": across, "down": down},
    )
    return JsonResponse({"field": field})
