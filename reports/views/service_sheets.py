"""Service sheets as PDF: for one assembly, and for all stops of a round with what to bring."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from notices.domain.long_dates import long_date
from notices.queries.briefs import sender_of
from registry.access import visible_assemblies
from registry.models import Assembly
from reports.domain.bringing import CONFIDENCES, USUAL_CONFIDENCE, bring_list
from reports.models import Round, StopWork
from reports.queries.bringing import counted_tests, needs_of
from reports.queries.causes import shipped_causes
from reports.queries.methods import UnknownMethodError
from reports.queries.round_pages import rounds_seen
from reports.queries.service_sheets import Taken, taken_along, with_their_places
from reports.rendering.service_sheets import bring_line, render_service_sheets
from reports.rendering.sheets import SheetHead
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.views.desk import Desk, Seat, at_desk


def confidence_asked(request: HttpRequest) -> int:
    """The confidence chosen, in per cent; 90 where none of ours was."""
    text = request.GET.get("sure", "")
    return next((one for one in CONFIDENCES if str(one) == text), USUAL_CONFIDENCE)


def round_assemblies(one: Round, desk: Desk) -> list[Assembly]:
    """The assemblies of a round's stops in the order driven, as far as the person sees them."""
    work = StopWork.objects.filter(stop__round=one, stop__cancelled_at__isnull=True)
    order = list(
        work.order_by("stop__arrives_at", "stop", "assembly__serial").values_list(
            "assembly_id", flat=True
        )
    )
    seen = visible_assemblies(desk.person).filter(program=desk.program, pk__in=order)
    found = {assembly.pk: assembly for assembly in with_their_places(seen)}
    return [found[pk] for pk in dict.fromkeys(order) if pk in found]


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def assembly_sheet(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The sheet of one assembly, made anew each time."""
    seen = visible_assemblies(desk.person).filter(program=desk.program, pk=pk)
    one = with_their_places(seen).first()
    if one is None:
        raise Http404("No such assembly.")
    try:
        taken = taken_along([one], program=desk.program, on=desk.today, confidence=USUAL_CONFIDENCE)
    except (NoRulebookError, UnknownMethodError) as refusal:
        messages.error(request, str(refusal))
        return redirect("assembly", code=desk.program.code, pk=pk)
    return _pdf(taken, desk, title=f"Service sheet {one.serial}", name=f"service-sheet-{one.pk}")


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def round_bring(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What to bring for a round, enough at the confidence asked for."""
    one = _round(desk, pk)
    sure = confidence_asked(request)
    assemblies = round_assemblies(one, desk)
    needs = needs_of(assemblies, tests=counted_tests(assemblies), program=desk.program, on=one.on)
    lines = [bring_line(line) for line in bring_list(list(needs.values()), confidence=sure / 100)]
    context = {
        "desk": desk,
        "round": one,
        "assemblies": assemblies,
        "lines": lines,
        "sure": sure,
        "confidences": CONFIDENCES,
    }
    return render(request, "reports/bring.html", context)


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def round_sheets(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What to bring for a round, then a sheet for every assembly in the order driven."""
    one = _round(desk, pk)
    sure = confidence_asked(request)
    try:
        taken = taken_along(
            round_assemblies(one, desk), program=desk.program, on=one.on, confidence=sure
        )
    except (NoRulebookError, UnknownMethodError) as refusal:
        messages.error(request, str(refusal))
        return redirect("round", code=desk.program.code, pk=pk)
    who = one.tester.name or one.tester.certificate
    words = (
        f"{who}, {long_date(one.on)}. Enough in {sure} of 100 such rounds, by the chances of the"
        " readings to fall below their limits; whatever stands failed is counted in full."
    )
    title = f"Service sheets, {who}, {long_date(one.on)}"
    return _pdf(taken, desk, title=title, name=f"service-sheets-{one.pk}", bring_words=words)


def _round(desk: Desk, pk: int) -> Round:
    one = rounds_seen(desk).filter(pk=pk).select_related("tester").first()
    if one is None:
        raise Http404("No such round.")
    return one


def _pdf(taken: Taken, desk: Desk, *, title: str, name: str, bring_words: str = "") -> HttpResponse:
    office = sender_of(desk.program)
    head = SheetHead(
        name=office.name,
        line=office.line,
        contact=tuple(line for line in (office.phone, office.email) if line),
        title="Service sheet",
        foot=f"{title}; printed {long_date(desk.today)}",
    )
    drawn = render_service_sheets(
        taken.sheets,
        head=head,
        causes_caution=shipped_causes().caution,
        bring=taken.bring,
        bring_words=bring_words,
    )
    response = HttpResponse(drawn.pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    return response
