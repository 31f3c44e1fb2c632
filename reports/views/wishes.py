"""What a customer asked not to have at a visit: a tester, a weekday, a day."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from registry.access import visible_premises
from registry.models import Premises, Tester
from reports.actions.not_for_visit import WishError, WishTold, end_wish, keep_wish
from reports.models import NotForVisit
from reports.planning_forms import WEEKDAYS, WishForm
from reports.queries.company_jobs import own_firms
from reports.rounds.crews import acceptance_of
from reports.views.round_changes import SEATS, must_change
from scheduling.views.desk import Desk, Seat, at_desk


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_wishes(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What stands for a premises, and the form for one more; a company names its own testers."""
    must_change(desk)
    site: Premises = get_object_or_404(visible_premises(desk.person), pk=pk, program=desk.program)
    form = WishForm(request.POST or None, initial={"tester": request.GET.get("tester", "")[:12]})
    testers = Tester.objects.filter(pk__in=[one.pk for one in acceptance_of(desk.program).testers])
    if desk.seat is not Seat.OFFICE:
        testers = testers.filter(firm__in=own_firms(desk.person))
    form.fields["tester"].queryset = testers  # type: ignore[attr-defined]
    if request.method == "POST" and form.is_valid():
        try:
            keep_wish(premises=site, told=WishTold(**form.cleaned_data), hand=desk.hand())
        except WishError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "It is kept: the next plan heeds it.")
            return redirect("round-wishes", code=desk.program.code, pk=site.pk)
    rows = _seen(desk).filter(premises=site).select_related("tester")
    context = {
        "desk": desk,
        "premises": site,
        "form": form,
        "standing": [(row, words_of(row)) for row in rows if row.ended_at is None],
        "ended": [(row, words_of(row)) for row in rows if row.ended_at is not None],
    }
    return render(request, "reports/planning/wishes.html", context)


@require_POST
@at_desk(seats=SEATS)
def round_wish_end(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """End a wish."""
    must_change(desk)
    wish = get_object_or_404(_seen(desk).select_related("premises"), pk=pk)
    try:
        end_wish(wish=wish, hand=desk.hand())
    except WishError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is ended: the next plan no longer heeds it.")
    return redirect("round-wishes", code=desk.program.code, pk=wish.premises_id)


def _seen(desk: Desk) -> QuerySet[NotForVisit]:
    """Wishes a person may see: the office all, a company what concerns it at its premises."""
    found = NotForVisit.objects.filter(premises__program=desk.program)
    if desk.seat is Seat.OFFICE:
        return found
    concerns = Q(tester__isnull=True) | Q(tester__firm__in=own_firms(desk.person))
    return found.filter(concerns, premises__in=visible_premises(desk.person))


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
