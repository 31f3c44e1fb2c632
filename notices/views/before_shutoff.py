"""Pages of a premises about water going off: answers that are asked first, an emergency, fees."""

from __future__ import annotations

from secrets import token_hex

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from notices.actions.emergency import emergency_at, sign_emergency
from notices.actions.fees import NewFee, owe_fee, settle_fee
from notices.actions.shutoff_answers import Said, record_answer, strike_answer
from notices.domain.shutoffs import AnswerKind, AnswerSays, FeeState
from notices.forms.orders import AnswerForm, EmergencyForm, FeeForm, SettleForm
from notices.models import Fee, Shutoff, ShutoffAnswer
from notices.queries.shutoff_rules import fee_rules
from notices.views.orders import signer_at
from registry.access import Verb
from registry.console import Refused
from registry.models import Premises
from scheduling.views.desk import Desk, at_desk


def _premises(desk: Desk, pk: int) -> Premises:
    found = Premises.objects.select_related("program").filter(program=desk.program, pk=pk).first()
    if found is None:
        raise Http404("No such premises.")
    return found


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def shutoff_answers(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What the fire department and who needs the water answered; a new answer."""
    premises = _premises(desk, pk)
    form = AnswerForm(request.POST or None, initial={"on": desk.today})
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            record_answer(
                premises,
                said=Said(
                    kind=AnswerKind(told["kind"]),
                    says=AnswerSays(told["says"]),
                    on=told["on"],
                    by=told["by"],
                    words=told["words"],
                    until=told["until"],
                ),
                today=desk.today,
                hand=desk.hand(),
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The answer is kept. The newest one decides.")
            return redirect("shutoff-answers", code=desk.program.code, pk=pk)
    context = {
        "desk": desk,
        "premises": premises,
        "form": form,
        "answers": list(ShutoffAnswer.objects.filter(premises=premises)[:100]),
    }
    return render(request, "notices/shutoff_answers.html", context)


@require_POST
@at_desk(verb=Verb.EDIT)
def shutoff_answer_strike(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Strike an answer that was written down wrongly."""
    found = ShutoffAnswer.objects.filter(program=desk.program, pk=pk).select_related("program")
    answer = found.first()
    if answer is None:
        raise Http404("No such answer.")
    try:
        strike_answer(answer, hand=desk.hand(request.POST.get("why", "").strip()[:500]))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is struck, and stays to be read.")
    return redirect("shutoff-answers", code=desk.program.code, pk=answer.premises_id)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SIGN)
def emergency_order(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Choose the services, read what goes off, give the reason, and sign."""
    premises = _premises(desk, pk)
    data = request.POST or request.GET or None
    form = EmergencyForm(data, premises=premises)
    chosen = list(form.cleaned_data["services"]) if data and form.is_valid() else []
    seen = emergency_at(premises, services=chosen, today=desk.today)
    if request.method == "POST" and form.is_valid():
        try:
            if request.POST.get("read") != "yes":
                raise Refused("Tick that you read what goes off. Nothing was signed.")
            made = sign_emergency(
                premises,
                services=chosen,
                reason=form.cleaned_data["reason"],
                signer=signer_at(desk, seen=request.POST.get("seen", "")),
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "It is signed. Print the work orders and send the crew.")
            return redirect("shutoff", code=desk.program.code, pk=made.pk)
    context = {
        "desk": desk,
        "premises": premises,
        "form": form,
        "chosen": chosen,
        "seen": seen,
        "found": seen.found,
    }
    return render(request, "notices/emergency.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def fees(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The fees of a premises: owed, paid, waived; a new one where a rule names it."""
    premises = _premises(desk, pk)
    rules = fee_rules(desk.program, on=desk.today)
    form = FeeForm(
        request.POST or None, rules=rules, initial={"on": desk.today, "form_key": token_hex(16)}
    )
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        last = Shutoff.objects.filter(premises=premises).order_by("-signed_at").first()
        try:
            owe_fee(
                premises,
                new=NewFee(
                    rule=told["rule"],
                    amount=told["amount"],
                    why=told["why"],
                    on=told["on"],
                    form_key=told["form_key"],
                    shutoff=last,
                ),
                today=desk.today,
                hand=desk.hand(),
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The fee is written down as owed.")
            return redirect("fees", code=desk.program.code, pk=pk)
    context = {
        "desk": desk,
        "premises": premises,
        "form": form,
        "rules": rules,
        "rows": [
            (fee, SettleForm(auto_id=f"f{fee.pk}_%s", initial={"on": desk.today}))
            for fee in Fee.objects.filter(premises=premises)[:100]
        ],
    }
    return render(request, "notices/fees.html", context)


@require_POST
@at_desk(verb=Verb.EDIT)
def fee_settle(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Write down what became of a fee."""
    fee = Fee.objects.filter(program=desk.program, pk=pk).select_related("program").first()
    if fee is None:
        raise Http404("No such fee.")
    form = SettleForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Say what became of it, and on which day.")
        return redirect("fees", code=desk.program.code, pk=fee.premises_id)
    told = form.cleaned_data
    try:
        settle_fee(
            fee,
            state=FeeState(told["state"]),
            on=told["on"],
            today=desk.today,
            hand=desk.hand(told["words"].strip()),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is written down.")
    return redirect("fees", code=desk.program.code, pk=fee.premises_id)
