"""A day as it goes, from the tester's phone or the dispatcher's desk: what became of each visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from reports.domain.live_day import MEANS, VisitOutcome
from reports.models import Round, Stop, VisitTold
from reports.queries.feeds import testers_seen
from reports.queries.round_pages import rounds_seen
from reports.rounds.changing import ChangeRefusedError
from reports.rounds.live import say_outcome
from reports.views.round_changes import SEATS, changer_of, may_change
from scheduling.views.desk import Desk, at_desk

CHOICES = [(str(one), str(one).capitalize(), MEANS[one]) for one in VisitOutcome]


@require_POST
@at_desk(seats=SEATS)
def stop_outcome(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep what became of one visit; then back to its day."""
    mine = Stop.objects.filter(program=desk.program, round__in=rounds_seen(desk))
    stop = get_object_or_404(mine.select_related("round__tester", "premises"), pk=pk)
    assert stop.round is not None
    if not may_say(desk, stop.round):
        raise PermissionDenied
    changer = changer_of(desk, first_day=desk.today, days=1)
    seen = request.POST.get("seen", "")
    try:
        outcome = VisitOutcome(request.POST.get("outcome", ""))
        row = say_outcome(
            changer,
            stop,
            outcome=outcome,
            words=request.POST.get("words", ""),
            seen=int(seen) if seen.isdigit() else -1,
        )
    except ValueError:
        messages.warning(request, "Choose what became of the visit.")
    except ChangeRefusedError as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, f"{row.premises}: {row.outcome}.")
    return redirect(f"{reverse('round', args=[desk.program.code, stop.round_id])}#stops")


def may_say(desk: Desk, one: Round) -> bool:
    """Whether a person says what became of this round's visits: who plans it, and its tester."""
    if one.on > desk.today:
        return False
    return may_change(desk) or testers_seen(desk).filter(pk=one.tester_id).exists()


def outcomes_of(one: Round, stops: Iterable[Stop]) -> Mapping[int, VisitTold]:
    """What was said of a round's visits on its day, by stop."""
    rows = VisitTold.objects.filter(stop__in=[stop.pk for stop in stops], on=one.on)
    return {row.stop_id: row for row in rows}
