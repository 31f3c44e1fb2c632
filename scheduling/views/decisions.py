"""Extensions, holds, idle times and exemptions: who is in each, before and after, ended as one."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from scheduling.actions.by_hand.carrying import carry_on
from scheduling.actions.by_hand.decisions import decide, end_decision, look_again
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.decisions import DecisionError
from scheduling.domain.facts import FactKind
from scheduling.domain.matching import SubjectKind
from scheduling.domain.rulebook import Rulebook
from scheduling.forms.decisions import DecisionForm, EndForm, GroupForm, ReviewForm
from scheduling.models import Decision
from scheduling.queries.group_places import is_of_places
from scheduling.views.decision_members import (
    SHOWN,
    Group,
    counted_in,
    members_of,
    sheet_of,
    shown_members,
)
from scheduling.views.desk import Desk, at_desk
from scheduling.views.premises import refuse
from scheduling.views.rules_in_force import rulebook_of

SECONDS: Final = 4.0
"""How long one request works out dates of a large group."""

_REVIEWED: Final = (FactKind.IDLED.value, FactKind.EXEMPTED.value)


@require_GET
@at_desk(verb=Verb.LOOK)
def decisions(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every decision, newest first; those whose review day has come can be asked for alone."""
    is_due = request.GET.get("due") == "yes"
    found = Decision.objects.filter(program=desk.program).annotate(number=Count("members"))
    found = found.order_by("-made_at", "-pk")
    if is_due:
        found = found.filter(ended_at__isnull=True, kind__in=_REVIEWED, until__lte=desk.today)
    page = Paginator(found, 50).get_page(request.GET.get("page"))
    context = {"desk": desk, "page": page, "is_due": is_due}
    return render(request, "scheduling/decisions.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def decision_new(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Choose who is meant, see them with what it would make of them, then decide."""
    book = rulebook_of(desk)
    if book is None:
        messages.error(request, "No rulebook is in force, so nothing is owed yet to decide about.")
        return redirect("decisions", code=desk.program.code)
    asked = request.GET if request.method == "GET" else request.POST
    bound = asked if "service" in asked else None
    group = GroupForm(bound, initial={"service": "any"}, asks_places=_asks_places(book))
    if not (group.is_bound and group.is_valid()):
        return _new(request, {"desk": desk, "group": group})
    found = Group(desk, group.wanted)
    if request.GET.get("as") == "csv":
        return found.sheet()
    form = DecisionForm(_decided(request), initial={"on": desk.today})
    out = {*asked.getlist("without")} & {*found.words}
    told = _told_in(form, found, out=out)
    if told and request.POST.get("act") == "decide":
        if request.POST.get("seen") != found.digest:
            form.add_error(None, "The registry has changed since you looked. Look again.")
        elif row := _decide(form, told, desk=desk, words=group.wanted.words):
            messages.success(request, _told(row, number=len(told.members), desk=desk))
            return redirect("decision", code=desk.program.code, pk=row.pk)
    foreseen = None if form.errors else told
    with_places = told is None or is_of_places(told.kind)
    context = {
        "desk": desk,
        "group": group,
        "form": form,
        "found": found,
        "members": found.members(foreseen),
        "places": found.members_of_places(foreseen if with_places else None),
        "with_places": with_places,
        "out": out,
        "is_foreseen": foreseen is not None,
        "asked": [(name, value) for name in group.fields for value in asked.getlist(name)],
        "query": request.GET.urlencode(),
    }
    return _new(request, context)


def _new(request: HttpRequest, context: dict[str, Any]) -> HttpResponse:
    return render(request, "scheduling/decision_new.html", context)


def _asks_places(book: Rulebook) -> bool:
    return any(book.kinds_of(kind) for kind in (SubjectKind.PREMISES, SubjectKind.CONNECTION))


def _told_in(form: DecisionForm, found: Group, *, out: set[str]) -> Told | None:
    """The decision of a form that holds, for those not left out; of assemblies only where so."""
    if not (form.is_bound and form.is_valid()):
        return None
    kind = FactKind(form.cleaned_data["kind"])
    return form.decision(found.without(out, with_places=is_of_places(kind)))


def _told(row: Decision, *, number: int, desk: Desk) -> str:
    if row.on > desk.today:
        return f"It is decided for {number:,}. The dates follow on the day it begins."
    return f"It is decided for {number:,}, and the dates follow."


def _decided(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" and "kind" in request.POST else None


def _decide(form: DecisionForm, told: Told, *, desk: Desk, words: str) -> Decision | None:
    try:
        return decide(
            program=desk.program, told=told, chosen_by=words, today=desk.today, hand=desk.hand()
        )
    except DecisionError as error:
        for field, said in error.faults.items():
            form.add_error(field if field in form.fields else None, said)
        return None


def _one(desk: Desk, pk: int) -> Decision:
    row = Decision.objects.filter(program=desk.program, pk=pk).first()
    if row is None:
        raise Http404("No such decision.")
    return row


@require_GET
@at_desk(verb=Verb.LOOK)
def decision(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One decision: who is in it, with the due date before, after and now."""
    row = _one(desk, pk)
    if request.GET.get("as") == "csv":
        return sheet_of(row, desk=desk)
    return _page(request, desk, row)


def _page(
    request: HttpRequest,
    desk: Desk,
    row: Decision,
    *,
    end: EndForm | None = None,
    review: ReviewForm | None = None,
) -> HttpResponse:
    page = Paginator(members_of(row), SHOWN).get_page(request.GET.get("page"))
    context = {
        "desk": desk,
        "decision": row,
        "page": page,
        "members": shown_members(page),
        "counted": counted_in(row),
        "is_reviewed": row.kind in _REVIEWED,
        "is_ahead": row.ended_at is None and row.on > desk.today,
        "is_followed": row.replay_on is not None and row.replay_on <= desk.today,
        "followed": row.members.filter(pk__lte=row.replayed_to).count() if row.replay_on else 0,
        "is_due": row.kind in _REVIEWED and row.until is not None and row.until <= desk.today,
        "end": end or EndForm(initial={"on": desk.today}),
        "review": review or ReviewForm(auto_id="review_%s"),
    }
    return render(request, "scheduling/decision.html", context)


@require_POST
@at_desk(verb=Verb.EDIT)
def decision_end(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """End a decision for everybody in it."""
    row = _one(desk, pk)
    if row.ended_at is not None:
        messages.error(request, "It has ended already.")
        return redirect("decision", code=desk.program.code, pk=row.pk)
    form = EndForm(request.POST)
    if form.is_valid():
        told = form.cleaned_data
        try:
            number = end_decision(
                decision=row, on=told["on"], today=desk.today, hand=desk.hand(told["reason"])
            )
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, f"It has ended for {number:,}; their dates follow.")
            return redirect("decision", code=desk.program.code, pk=row.pk)
    return _page(request, desk, row, end=form)


@require_POST
@at_desk(verb=Verb.EDIT)
def decision_carry_on(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Work out the dates of some more of a large decision's members."""
    row = _one(desk, pk)
    if carry_on(row, today=desk.today, seconds=SECONDS):
        messages.success(request, "The dates of everybody in it follow now.")
    return redirect("decision", code=desk.program.code, pk=row.pk)


@require_POST
@at_desk(verb=Verb.EDIT)
def decision_review(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Somebody has looked: the next review day."""
    row = _one(desk, pk)
    if row.ended_at is not None:
        messages.error(request, "It has ended already.")
        return redirect("decision", code=desk.program.code, pk=row.pk)
    form = ReviewForm(request.POST, auto_id="review_%s")
    if form.is_valid():
        told = form.cleaned_data
        try:
            look_again(
                decision=row, until=told["until"], today=desk.today, hand=desk.hand(told["reason"])
            )
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, f"It is looked at again on {told['until']}.")
            return redirect("decision", code=desk.program.code, pk=row.pk)
    return _page(request, desk, row, review=form)
