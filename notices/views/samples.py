"""A whole kind of letters is released after a person looked at a sample of it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from notices.actions.releasing import release_kind
from notices.queries.samples import kinds_waiting, sample_of
from registry.access import Verb
from registry.console import Refused
from scheduling.views.desk import Desk, at_desk


@require_GET
@at_desk(verb=Verb.RELEASE)
def letters_sample(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The letters of a kind that wait, a few of them to be looked at."""
    kinds = kinds_waiting(desk.program)
    asked = request.GET.get("kind", "")
    kind = asked if asked in kinds else next(iter(kinds), "")
    context = {
        "desk": desk,
        "kinds": kinds,
        "sample": sample_of(desk.program, kind=kind) if kind else None,
    }
    return render(request, "notices/sample.html", context)


@require_POST
@at_desk(verb=Verb.RELEASE)
def letters_sample_release(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Release the kind: every letter of the sample must have been looked at."""
    kind = request.POST.get("kind", "")[:40].replace("\x00", "")
    newest = request.POST.get("newest", "")
    seen = {int(text) for text in request.POST.getlist("seen") if text.isascii() and text.isdigit()}
    back = redirect(f"{reverse('letters-sample', args=[desk.program.code])}?kind={kind}")
    if not (newest.isascii() and newest.isdigit() and len(newest) < 19):
        messages.error(request, "Look at the sample first. Nothing was released.")
        return back
    try:
        done = release_kind(
            program=desk.program,
            kind=kind,
            seen=seen,
            newest=int(newest),
            hand=desk.hand(),
            today=desk.today,
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
        return back
    many = "letter is" if len(done.released) == 1 else "letters are"
    messages.success(request, f"{len(done.released):,} {many} released.")
    for number, why in list(done.refused.items())[:10]:
        messages.error(request, f"{number} stays: {why}")
    return back
