"""The evidence file of a premises, or of one obligation there: made when a person asks."""

from __future__ import annotations

import hashlib

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from notices.models import LetterNotice
from registry.access import Verb
from registry.changes import record_change
from registry.models import Premises
from reports.evidence.pages import drawn
from reports.evidence.sealing import sealed
from reports.evidence.telling import Case, letters_of, story_of
from reports.ledger.sealing import head_of
from scheduling.models import Obligation
from scheduling.views.desk import Desk, at_desk

_SHOWN = 200


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOOK)
def evidence(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say what the file would hold; on a POST make it, and keep who asked and its check sum."""
    premises = Premises.objects.select_related("program").filter(program=desk.program, pk=pk)
    found = premises.first()
    if found is None:
        raise Http404("No such premises.")
    duties = (
        Obligation.objects.filter(assembly__premises=found)
        .select_related("assembly")
        .order_by("-due_on", "-pk")
    )
    if request.method == "POST":
        chosen = request.POST.get("obligation", "")
        one = duties.filter(pk=int(chosen)).first() if chosen.isdigit() else None
        if chosen.isdigit() and one is None:
            raise Http404("No such obligation here.")
        return _file(desk, case=Case(premises=found, obligation=one))
    letters = LetterNotice.objects.filter(notice__premises=found).values("letter").distinct()
    context = {
        "desk": desk,
        "premises": found,
        "duties": list(duties[:_SHOWN]),
        "letters": letters.count(),
    }
    return render(request, "reports/evidence.html", context)


def _file(desk: Desk, *, case: Case) -> HttpResponse:
    hand = desk.hand()
    story = story_of(case, as_of=desk.today, hand=hand, head=head_of(desk.program))
    letters = letters_of(story, premises=case.premises)
    data = sealed(drawn(story), story=story, letters=letters)
    record_change(
        hand=hand,
        what="evidence",
        subject_id=case.premises.pk,
        label=story.about,
        before={},
        after={"sha256": hashlib.sha256(data).hexdigest(), "letters": len(letters)},
        program=desk.program,
    )
    response = HttpResponse(data, content_type="application/pdf")
    name = f"evidence-{desk.program.code}-{case.premises.pk}-{story.as_of.isoformat()}.pdf"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response
