"""Orders: the list, and each one's own page: the evidence first, then the signature."""

from __future__ import annotations

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from notices.actions.orders import Signer, evidence_digest, sign_as_second, sign_order
from notices.domain.kinds import LetterState
from notices.domain.shutoffs import LIVE_SHUTOFFS
from notices.forms.orders import FireDepartmentForm
from notices.models import Letter, OrderSignature, Shutoff
from notices.queries.evidence import evidence_of
from notices.queries.fire_department import KEY, fire_department
from notices.queries.prepared_orders import open_orders, prepared_orders
from notices.queries.shutoff_rules import of_order
from notices.views.letters import letter_seen
from registry.access import Verb
from registry.console import Refused
from registry.models import Question
from scheduling.actions.by_hand.rows import keep
from scheduling.domain.rules import Topic
from scheduling.views.desk import Desk, at_desk

_SHOWN = 200


def signer_at(desk: Desk, *, seen: str) -> Signer:
    """Who signs at this desk, now, having seen what."""
    return Signer(
        user=desk.person,  # type: ignore[arg-type]
        role=desk.role,
        at=desk.now,
        today=desk.today,
        seen=seen,
    )


def _order(desk: Desk, pk: int) -> Letter:
    one = letter_seen(desk, pk)
    if not one.is_order:
        raise Http404("This letter is no order.")
    return one


@require_GET
@at_desk(verb=Verb.LOOK)
def orders(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What is prepared, what is held and why, and where each shutoff stands."""
    prepared = prepared_orders(desk.program, most=_SHOWN)
    held = Question.objects.filter(
        program=desk.program, kind="held notice", settled_at__isnull=True
    ).select_related("premises", "assembly")
    shutoffs = Shutoff.objects.filter(program=desk.program).select_related("premises", "order")
    live = [state.value for state in LIVE_SHUTOFFS]
    context = {
        "desk": desk,
        "prepared": prepared,
        "prepared_count": (
            len(prepared) if len(prepared) < _SHOWN else open_orders(desk.program).count()
        ),
        "held": list(held.order_by("raised_on", "pk")[:_SHOWN]),
        "live": list(shutoffs.filter(state__in=live)[:_SHOWN]),
        "ended": list(shutoffs.exclude(state__in=live).order_by("-ended_on", "-pk")[:50]),
        "fire": fire_department(desk.program),
    }
    return render(request, "notices/orders.html", context)


@require_GET
@at_desk(verb=Verb.LOOK)
def order(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Everything that shows the steps were kept, and what else the shutoff takes."""
    one = _order(desk, pk)
    evidence = evidence_of(one, today=desk.today)
    is_open = one.state == LetterState.COMPOSED
    seen = evidence_digest(evidence)
    signature = OrderSignature.objects.filter(letter=one).select_related("second").first()
    second = of_order(one, topic=Topic.SECOND_PERSON)
    may_sign = is_open and desk.acts["sign"] and not evidence.holds and not one.flags
    is_mine = signature is not None and signature.user_id == desk.person.pk
    has_changed = signature is not None and signature.evidence_sha256 != seen
    context = {
        "desk": desk,
        "letter": one,
        "evidence": evidence,
        "seen": seen,
        "is_open": is_open,
        "second_rule": second,
        "can_sign": may_sign and (signature is None or (is_mine and has_changed)),
        "can_second": may_sign and signature is not None and not is_mine and not has_changed,
        "has_changed": is_open and has_changed,
        "signature": signature,
        "second": getattr(signature, "second", None),
        "shutoff": Shutoff.objects.filter(order=one).first(),
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
    signer = signer_at(desk, seen=request.POST.get("seen", ""))
    try:
        if request.POST.get("as") == "second":
            sign_as_second(letter=one, signer=signer)
        else:
            sign_order(letter=one, signer=signer)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("order", code=desk.program.code, pk=pk)
    made = Shutoff.objects.filter(order=one).first()
    if made is None:
        messages.success(request, f"You signed order {one.number}. A second person signs it too.")
        return redirect("order", code=desk.program.code, pk=pk)
    messages.success(request, f"Order {one.number} is signed; its letter goes.")
    return redirect("shutoff", code=desk.program.code, pk=made.pk)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def fire_department_form(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The address of the fire department, to which letters about fire lines go."""
    told = (desk.program.contacts or {}).get(KEY) or {}
    form = FireDepartmentForm(request.POST or None, initial=told)
    if request.method == "POST" and form.is_valid():
        contacts = {**(desk.program.contacts or {}), KEY: dict(form.cleaned_data)}
        values = {"contacts": contacts}
        with transaction.atomic():
            keep(desk.program, values=values, hand=desk.hand(), program=desk.program)
        messages.success(request, "The fire department\u2019s address is kept.")
        return redirect("orders", code=desk.program.code)
    context = {
        "desk": desk,
        "form": form,
        "title": "The fire department",
        "place": "Letters about dedicated fire lines go there.",
        "back": reverse("orders", args=[desk.program.code]),
    }
    return render(request, "scheduling/form.html", context)
