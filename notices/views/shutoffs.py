"""A shutoff's page: work orders for the crew, what brings the water back, and how it ended."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from notices.actions.clocks import Day
from notices.actions.emergency import emergency_key
from notices.actions.shutoffs import (
    Shown,
    accepted_proof,
    bring_back,
    call_off,
    name_another_day,
)
from notices.actions.work_orders import CrewReport, order_work_off, record_done
from notices.domain.shutoffs import Proof, ShutoffState, first_day_for
from notices.forms.orders import CrewForm, ProofForm, WorkDayForm
from notices.models import LetterAbout, Shutoff, WorkOrder
from notices.queries.shutoffs import is_met, services_of_shutoff, why_not_off
from registry.access import Verb
from registry.console import Refused
from scheduling.closed_days import closed_days
from scheduling.forms.plain import PlainForm
from scheduling.views.desk import Desk, at_desk


def _shutoff(desk: Desk, pk: int) -> Shutoff:
    rows = Shutoff.objects.filter(program=desk.program).select_related(
        "program", "premises", "order__signature__second"
    )
    found = rows.filter(pk=pk).first()
    if found is None:
        raise Http404("No such shutoff.")
    return found


def _work(desk: Desk, pk: int) -> WorkOrder:
    rows = WorkOrder.objects.filter(program=desk.program).select_related(
        "program", "shutoff__premises", "shutoff__order", "connection"
    )
    found = rows.filter(pk=pk).first()
    if found is None:
        raise Http404("No such work order.")
    return found


@require_GET
@at_desk(verb=Verb.LOOK)
def shutoff(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Where it stands, what may be done next, and why not where not."""
    one = _shutoff(desk, pk)
    is_signed = one.state == ShutoffState.SIGNED
    works = list(one.work_orders.select_related("connection").defer("pdf").order_by("number"))
    about = LetterAbout.objects.filter(
        program=desk.program, key__in=[f"water back:{one.pk}", emergency_key(one)]
    )
    first = first_day_for(desk.today, holidays=closed_days(desk.program.state))
    met = is_met(one)
    context = {
        "desk": desk,
        "shutoff": one,
        "works": [
            (work, CrewForm(auto_id=f"w{work.pk}_%s", initial={"on": desk.today})) for work in works
        ],
        "why_not": list(why_not_off(one, today=desk.today)) if is_signed else [],
        "services": services_of_shutoff(one) if is_signed else [],
        "day_form": WorkDayForm(initial={"for_on": first}),
        "proof_form": _proof_form(one, desk, met=met),
        "is_met": met,
        "has_waiting": any(work.state == "waiting" for work in works),
        "letters": [row.letter for row in about.select_related("letter")],
        "fees": list(one.fees.all()),
        "second": getattr(getattr(one.order, "signature", None), "second", None),
    }
    return render(request, "notices/shutoff.html", context)


def _proof_form(one: Shutoff, desk: Desk, *, met: bool) -> ProofForm:
    accepted = accepted_proof(one, today=desk.today)
    choices = [Proof.PASSED] if met else []
    choices += [Proof.BOOKED] if Proof.BOOKED.value in accepted else []
    choices += [Proof.HAZARD_GONE] if one.is_emergency else []
    choices += [Proof.DECISION] if desk.acts["sign"] else []
    return ProofForm(choices=choices, auto_id="proof_%s", initial={"on": desk.today})


@require_POST
@at_desk(verb=Verb.RELEASE)
def shutoff_work(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Send the crew: a work order for each service, for a day."""
    one = _shutoff(desk, pk)
    form = WorkDayForm(request.POST)
    if not form.is_valid():
        return _back(request, desk, pk=pk, form=form)
    try:
        made = order_work_off(
            one, for_on=form.cleaned_data["for_on"], today=desk.today, hand=desk.hand()
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("shutoff", code=desk.program.code, pk=pk)
    said = "Work orders are made. Print them below." if made else "They were made before."
    messages.success(request, said)
    return redirect("shutoff", code=desk.program.code, pk=pk)


@require_POST
@at_desk(verb=Verb.RELEASE)
def shutoff_proof(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say what is there; the work orders that bring water back are made."""
    one = _shutoff(desk, pk)
    form = ProofForm(request.POST, choices=list(Proof))
    if not form.is_valid():
        return _back(request, desk, pk=pk, form=form)
    told = form.cleaned_data
    try:
        bring_back(
            one,
            shown=Shown(proof=Proof(told["proof"]), on=told["on"], words=told["words"]),
            user=desk.person,  # type: ignore[arg-type]
            today=desk.today,
            hand=desk.hand(),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Water is to come back. Print the work orders below.")
    return redirect("shutoff", code=desk.program.code, pk=pk)


@require_POST
@at_desk(verb=Verb.RELEASE)
def shutoff_call_off(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Call it off before water went."""
    try:
        call_off(
            _shutoff(desk, pk),
            why=request.POST.get("why", "")[:500],
            today=desk.today,
            hand=desk.hand(),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is called off. Take the paper back from the crew.")
    return redirect("shutoff", code=desk.program.code, pk=pk)


@require_GET
@at_desk(verb=Verb.LOOK)
def work_order_pdf(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The paper as it was made; never drawn again."""
    work = _work(desk, pk)
    response = HttpResponse(bytes(work.pdf), content_type="application/pdf")
    name = f"work-order-{work.number}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_POST
@at_desk(verb=Verb.RELEASE)
def work_order_done(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep what the crew brought back, or name another day."""
    work = _work(desk, pk)
    try:
        if request.POST.get("act") == "another":
            name_another_day(work, why=request.POST.get("words", "")[:500], hand=desk.hand())
            messages.success(request, "It is called off; name another day.")
            return redirect("shutoff", code=desk.program.code, pk=work.shutoff_id)
        form = CrewForm(request.POST)
        if not form.is_valid():
            return _back(request, desk, pk=work.shutoff_id, form=form)
        told = form.cleaned_data
        record_done(
            work,
            report=CrewReport(
                on=told["on"],
                at=told["at"],
                by=told["by"],
                reading=told["reading"],
                words=told["words"],
            ),
            day=Day(program=desk.program, on=desk.today, at=desk.now),
            hand=desk.hand(),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Work order {work.number} is recorded as done.")
    return redirect("shutoff", code=desk.program.code, pk=work.shutoff_id)


def _back(request: HttpRequest, desk: Desk, *, pk: int, form: PlainForm) -> HttpResponse:
    """Say what is wrong with what was filled in, field by field."""
    for field, faults in form.errors.items():
        label = form.fields[field].label if field in form.fields else ""
        messages.error(request, f"{label}: {faults[0]}".strip(": "))
    return redirect("shutoff", code=desk.program.code, pk=pk)
