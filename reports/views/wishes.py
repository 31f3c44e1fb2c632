"""What a customer asked not to have at a visit: a tester, a weekday, a day."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from registry.access import Verb, visible_premises
from registry.models import Premises, Tester
from reports.actions.not_for_visit import WishError, WishTold, end_wish, keep_wish
from reports.models import NotForVisit
from reports.planning_forms import WEEKDAYS, WishForm
from reports.rounds.crews import acceptance_of
from scheduling.views.desk import Desk, at_desk


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.PLAN)
def round_wishes(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What stands for a premises, and the form for one more."""
    site: Premises = get_object_or_404(visible_premises(desk.person), pk=pk, program=desk.program)
    form = WishForm(request.POST or None, initial={"tester": request.GET.get("tester", "")[:12]})
    testers = [one.pk for one in acceptance_of(desk.program).testers]
    form.fields["tester"].queryset = Tester.objects.filter(  # type: ignore[attr-defined]
        pk__in=testers
    )
    if request.method == "POST" and form.is_valid():
        try:
            keep_wish(premises=site, told=WishTold(**form.cleaned_data), hand=desk.hand())
        except WishError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "It is kept: the next plan heeds it.")
            return redirect("round-wishes", code=desk.program.code, pk=site.pk)
    rows = NotForVisit.objects.filter(premises=site).select_related("tester")
    context = {
        "desk": desk,
        "premises": site,
        "form": form,
        "standing": [(row, words_of(row)) for row in rows if row.ended_at is None],
        "ended": [(row, words_of(row)) for row in rows if row.ended_at is not None],
    }
    return render(request, "reports/planning/wishes.html", context)


@require_POST
@at_desk(verb=Verb.PLAN)
def round_wish_end(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """End a wish."""
    wish = get_object_or_404(
        NotForVisit.objects.select_related("premises"), pk=pk, premises__program=desk.program
    )
    try:
        end_wish(wish=wish, hand=desk.hand())
    except WishError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is ended: the next plan no longer heeds it.")
    return redirect("round-wishes", code=desk.program.code, pk=wish.premises_id)


def words_of(wish: NotForVisit) -> str:
    """Who and when, as a sentence reads: "Tester T-1, on Mondays"."""
    parts = []
    if wish.tester is not None:
        parts.append(wish.tester.name or wish.tester.certificate)
    if wish.weekday is not None:
        parts.append(f"on {WEEKDAYS[wish.weekday]}s")
    if wish.on is not None:
        parts.append(f"on {wish.on:%B} {wish.on.day}, {wish.on.year}")
    if wish.tester is None:
        parts.insert(0, "Nobody")
    return ", ".join(parts)
