"""What waits for a person and is neither letter nor field test: asked once, settled with words."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from registry.access import Verb
from registry.models import Question
from scheduling.actions.by_hand.questions import settle_question
from scheduling.views.desk import Desk, at_desk

_ROWS = 25
"""What a person answers at a sitting; the next come up as these are settled."""


@require_GET
@at_desk(verb=Verb.LOOK)
def questions(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Open questions, oldest first; of one kind where asked."""
    found = Question.objects.filter(program=desk.program, settled_at__isnull=True)
    kind = request.GET.get("kind", "")[:60].replace("\x00", "")
    if kind:
        found = found.filter(kind=kind)
    context = {
        "desk": desk,
        "kind": kind,
        "questions": list(found.select_related("assembly", "premises")[:_ROWS]),
        "total": found.count(),
        "shown": _ROWS,
        "can_settle": desk.acts["settle"],
    }
    return render(request, "scheduling/questions.html", context)


@require_POST
@at_desk(verb=Verb.SETTLE)
def question_settle(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Settle a question with an answer in words, which is kept."""
    one = Question.objects.filter(program=desk.program, pk=pk).first()
    if one is None:
        raise Http404("No such question.")
    answer = request.POST.get("answer", "")[:500].replace("\x00", "").strip()
    if not answer:
        messages.error(request, "Write how it was settled; the answer is kept with the question.")
    elif settle_question(question=one, answer=answer, hand=desk.hand()):
        messages.success(request, "It is settled.")
    else:
        messages.error(request, "Somebody settled it before.")
    return redirect("questions", code=desk.program.code)
