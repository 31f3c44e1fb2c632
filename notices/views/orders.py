"""The order's own page: the evidence first, then the signature, never in one step."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from notices.actions.orders import evidence_digest, sign_order
from notices.domain.kinds import LetterState
from notices.models import Letter
from notices.queries.evidence import evidence_of
from notices.views.letters import letter_seen
from registry.access import Verb
from registry.console import Refused
from scheduling.views.desk import Desk, at_desk


def _order(desk: Desk, pk: int) -> Letter:
    one = letter_seen(desk, pk)
    if not one.is_order:
        raise Http404("This letter is no order.")
    return one


@require_GET
@at_desk(verb=Verb.LOOK)
def order(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Everything that shows the steps were kept, and what else the shutoff takes."""
    one = _order(desk, pk)
    evidence = evidence_of(one)
    is_open = one.state == LetterState.COMPOSED
    context = {
        "desk": desk,
        "letter": one,
        "evidence": evidence,
        "seen": evidence_digest(evidence),
        "is_open": is_open,
        "can_sign": is_open and desk.acts["sign"] and not evidence.holds and not one.flags,
        "signature": getattr(one, "signature", None),
    }
    return render(request, "notices/order.html", context)


@require_POST
@at_desk(verb=Verb.SIGN)
def order_sign(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Sign what was read; refused where the record changed since, or a hold stands."""
    one = _order(desk, pk)
    if request.POST.get("read") != "yes":
        messages.error(request, "Tick that you read the evidence. Nothing was signed.")
        return redirect("order", code=desk.program.code, pk=pk)
    try:
        sign_order(
            letter=one,
            user=desk.person,  # type: ignore[arg-type]
            role=desk.role,
            at=desk.now,
            today=desk.today,
            seen=request.POST.get("seen", ""),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("order", code=desk.program.code, pk=pk)
    messages.success(request, f"Order {one.number} is signed; its page says how it goes.")
    return redirect("letter", code=desk.program.code, pk=pk)
