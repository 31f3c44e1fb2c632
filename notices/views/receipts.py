"""A person records the day a letter was delivered."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from notices.actions.clocks import Day
from notices.delivery.receipts import record_delivered
from notices.models import Delivery
from registry.access import Verb
from registry.console import Refused
from scheduling.views.desk import Desk, at_desk


@require_POST
@at_desk(verb=Verb.RELEASE)
def delivery_delivered(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep the day on a receipt, or on which somebody handed the letter over."""
    rows = Delivery.objects.select_related("letter").filter(letter__program=desk.program, pk=pk)
    row = rows.first()
    if row is None:
        raise Http404("No such delivery.")
    try:
        on = date.fromisoformat(request.POST.get("on", "")[:10])
        day = Day(program=desk.program, on=desk.today, at=desk.now)
        record_delivered(row, on=on, day=day, hand=desk.hand())
    except ValueError:
        messages.error(request, "Write the day it was delivered. Nothing was kept.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Kept. What counts from the delivery counts from that day.")
    return redirect("letter", code=desk.program.code, pk=row.letter_id)
