"""Extensions, holds, idle times and exemptions: who is in each, before and after, ended as one."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from io import StringIO
from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.domain.formula_guard import guarded
from registry.models import Assembly
from scheduling.actions.by_hand.carrying import carry_on
from scheduling.actions.by_hand.decisions import decide, end_decision, look_again
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.decisions import DecisionError
from scheduling.domain.facts import FactKind
from scheduling.forms.decisions import DecisionForm, EndForm, GroupForm, ReviewForm
from scheduling.models import Decision
from scheduling.queries.groups import Foreseen, digest_of, foreseen, group_of
from scheduling.views.desk import Desk, at_desk
from scheduling.views.premises import refuse
from scheduling.views.rules_in_force import rulebook_of

SHOWN: Final = 200
SECONDS: Final = 4.0
"""How long one request works out dates of a large group."""

_REVIEWED: Final = (FactKind.IDLED.value, FactKind.EXEMPTED.value)


@dataclass(frozen=True, kw_only=True)
class Member:
    """One assembly of a list: as it stands, and as it would stand."""

    assembly: Assembly
    now: Foreseen
    then: Foreseen | None

    @property
    def questions(self) -> list[str]:
        """What the decision would leave to a person, and nothing asks yet."""
        asked = self.then.questions if self.then else ()
        return [one for one in asked if one not in self.now.questions]


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
    if rulebook_of(desk) is None:
        messages.error(request, "No rulebook is in force, so nothing is owed yet to decide about.")
        return redirect("decisions", code=desk.program.code)
    asked = request.GET if request.method == "GET" else request.POST
    group = GroupForm(asked if "service" in asked else None, initial={"service": "any"})
    context: dict[str, Any] = {"desk": desk, "group": group}
    if not (group.is_bound and group.is_valid()):
        return render(request, "scheduling/decision_new.html", context)
    found = group_of(desk.program, group.wanted)
    ids = list(found.values_list("pk", flat=True))
    if request.GET.get("as") == "csv":
        return _sheet(desk, ids, name="who-is-in-it")
    form = DecisionForm(_decided(request), initial={"on": desk.today})
    out = {int(pk) for pk in asked.getlist("without") if pk.isdecimal()}
    members = [pk for pk in ids if pk not in out]
    told = form.decision(tuple(map(str, members))) if form.is_bound and form.is_valid() else None
    if told and request.POST.get("act") == "decide":
        if request.POST.get("seen") != digest_of(ids):
            form.add_error(None, "The registry has changed since you looked. Look again.")
        elif row := _decide(form, told, desk=desk, words=group.wanted.words):
            messages.success(request, _told(row, number=len(members), desk=desk))
            return redirect("decision", code=desk.program.code, pk=row.pk)
    context |= {
        "form": form,
        "members": _members(found, desk=desk, told=None if form.errors else told),
        "out": out,
        "total": len(ids),
        "seen": digest_of(ids),
        "is_foreseen": told is not None and not form.errors,
        "asked": [(name, value) for name in group.fields for value in asked.getlist(name)],
        "query": request.GET.urlencode(),
    }
    return render(request, "scheduling/decision_new.html", context)


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


def _members(found: Any, *, desk: Desk, told: Told | None) -> list[Member]:
    shown = list(found.select_related("premises", "connection")[:SHOWN])
    ids = [one.pk for one in shown]
    now = foreseen(program=desk.program, ids=ids, decision=None, today=desk.today)
    then = foreseen(program=desk.program, ids=ids, decision=told, today=desk.today) if told else {}
    return [Member(assembly=one, now=now[one.pk], then=then.get(one.pk)) for one in shown]


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
        ids = list(row.members.values_list("assembly_id", flat=True))
        return _sheet(desk, ids, name=f"decision-{row.pk}", decision=row)
    return _page(request, desk, row)


def _page(
    request: HttpRequest,
    desk: Desk,
    row: Decision,
    *,
    end: EndForm | None = None,
    review: ReviewForm | None = None,
) -> HttpResponse:
    members = row.members.select_related("assembly__premises", "assembly__state", "fact")
    page = Paginator(
        members.order_by("assembly__premises__address", "assembly__serial"), SHOWN
    ).get_page(request.GET.get("page"))
    context = {
        "desk": desk,
        "decision": row,
        "page": page,
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


def _sheet(
    desk: Desk, ids: Sequence[int], *, name: str, decision: Decision | None = None
) -> HttpResponse:
    """Who is in it as CSV; cells are safe for a spreadsheet."""
    due: dict[int, tuple[date | None, date | None]] = {}
    if decision is not None:
        rows = decision.members.values_list("assembly_id", "due_before", "due_after")
        due = {pk: (before, after) for pk, before, after in rows}
    out = StringIO()
    sheet = csv.writer(out)
    sheet.writerow(["serial", "maker", "type", "address", "city", "due_on", "before", "after"])
    for start in range(0, len(ids), 500):
        found = Assembly.objects.filter(program=desk.program, pk__in=ids[start : start + 500])
        for one in found.select_related("premises", "state").order_by("pk"):
            now = one.state.due_on if hasattr(one, "state") else None
            before, after = due.get(one.pk, (None, None))
            cells = [one.serial, one.maker, one.type, one.premises.address, one.premises.city]
            sheet.writerow([*map(guarded, cells), now or "", before or "", after or ""])
    answer = HttpResponse(out.getvalue(), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer
