"""The office's e-mail: whether it goes out, a test in the server's own words, stopped addresses."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from notices.actions.clocks import Day
from notices.delivery.deciding import Decision, decide
from notices.delivery.probing import Step, probe
from notices.delivery.stops import lift
from notices.domain.kinds import Channel
from notices.models import Delivery, MailStop
from registry.access import Verb
from registry.console import Refused
from registry.domain.emails import read_email
from registry.models import Question
from scheduling.views.desk import Desk, at_desk

_STOPS = 200


@require_GET
@at_desk(verb=Verb.SET_UP)
def mail(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Where e-mail stands, and the addresses that nothing goes to."""
    return render(request, "notices/mail_setup.html", _context(desk))


@require_POST
@at_desk(verb=Verb.SET_UP)
def mail_test(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Try one e-mail step by step, and show what the server said to each."""
    typed = request.POST.get("address", "")[:254]
    address = read_email(typed).value
    context = _context(desk) | {"typed": typed, "address": address}
    if not settings.MAIL_IS_SET_UP:
        context["problem"] = "No mail server is set up, so nothing was tried."
    elif not address:
        context["problem"] = "Write one e-mail address, as name@example.org."
    else:
        steps = probe(recipient=address, at=desk.now, name=desk.program.name)
        context |= {
            "steps": steps,
            "was_taken": _was_taken(steps),
            "is_unknown": any(step.is_unknown for step in steps),
        }
    return render(request, "notices/mail_setup.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def mail_lift(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Write to a stopped address again."""
    stop = MailStop.objects.filter(program=desk.program, pk=pk).first()
    if stop is None:
        raise Http404("No such address.")
    if lift(stop, hand=desk.hand()):
        messages.success(request, f"Letters may go to {stop.address} by e-mail again.")
    return redirect("mail", code=desk.program.code)


@require_POST
@at_desk(verb=Verb.RELEASE)
def delivery_decide(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say what became of an e-mail that may or may not have left."""
    row = Delivery.objects.filter(letter__program=desk.program, pk=pk).first()
    if row is None:
        raise Http404("No such delivery.")
    said = request.POST.get("decision", "")
    if said not in set(Decision):
        messages.error(request, "Choose what became of it. Nothing was changed.")
        return redirect("letter", code=desk.program.code, pk=row.letter_id)
    day = Day(program=desk.program, on=desk.today, at=desk.now)
    try:
        decide(pk, decision=Decision(said), day=day, hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Kept. The letter says how it goes on.")
    return redirect("letter", code=desk.program.code, pk=row.letter_id)


def _was_taken(steps: list[Step]) -> bool:
    return bool(steps) and steps[-1].what == "message" and steps[-1].is_good


def _context(desk: Desk) -> dict[str, Any]:
    rows = Delivery.objects.filter(letter__program=desk.program, channel=Channel.EMAIL)
    counts = dict(rows.order_by().values_list("state").annotate(n=Count("pk")))
    fault = Question.objects.filter(
        program=desk.program, key="mail server", settled_at__isnull=True
    ).first()
    stops = MailStop.objects.filter(program=desk.program, lifted_at__isnull=True)
    return {
        "desk": desk,
        "is_set_up": settings.MAIL_IS_SET_UP,
        "host": settings.EMAIL_HOST,
        "port": settings.EMAIL_PORT,
        "is_encrypted": settings.EMAIL_USE_TLS or settings.EMAIL_USE_SSL,
        "sender": settings.MAIL_FROM_ADDRESS,
        "bounces": settings.BOUNCE_ADDRESS or settings.MAIL_FROM_ADDRESS,
        "waiting": counts.get("waiting", 0) + counts.get("going", 0),
        "held": counts.get("held", 0),
        "fault": fault.text if fault else "",
        "stops": list(stops[:_STOPS]),
    }
