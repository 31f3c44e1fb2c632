"""Testers and gauges a program knows, those that run out first, and their forms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib import messages
from django.db.models import Max, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from registry.models import Gauge, Tester
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.testers import keep_gauge, keep_tester
from scheduling.forms.registry import GaugeForm, TesterForm
from scheduling.views.desk import Desk, at_desk
from scheduling.views.premises import refuse
from scheduling.views.rules_in_force import rulebook_of

_SOON = timedelta(days=30)


@dataclass(frozen=True, kw_only=True)
class Lapse:
    """When something runs out, and whether it has or soon will."""

    on: date | None
    has_passed: bool
    is_soon: bool


def _lapse(on: date | None, today: date) -> Lapse:
    return Lapse(
        on=on,
        has_passed=on is not None and on < today,
        is_soon=on is not None and today <= on <= today + _SOON,
    )


def _testers(desk: Desk) -> QuerySet[Tester]:
    return Tester.objects.filter(approvals__program=desk.program).distinct()


def _gauges(desk: Desk) -> QuerySet[Gauge]:
    return Gauge.objects.filter(approvals__program=desk.program).distinct()


def _gauge_days(desk: Desk) -> int:
    book = rulebook_of(desk)
    return round((book.credentials.gauge_months if book else 12) * 30.4375)


@require_GET
@at_desk(verb=Verb.LOOK)
def testers(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Who may test here and with what, those that run out first."""
    people = _testers(desk).select_related("firm").annotate(ends=Max("certifications__valid_to"))
    kits = _gauges(desk).select_related("firm").annotate(last=Max("calibrations__calibrated_on"))
    good_for = timedelta(days=_gauge_days(desk))
    context = {
        "desk": desk,
        "testers": [
            (one, _lapse(one.ends, desk.today)) for one in people.order_by("ends", "certificate")
        ],
        "gauges": [
            (one, one.last, _lapse(one.last + good_for if one.last else None, desk.today))
            for one in kits.order_by("last", "serial")
        ],
    }
    return render(request, "scheduling/testers.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def tester_new(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A new tester, approved from the certificate's first day."""
    return _tester(request, desk, None)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def tester_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Change a tester, or add a term of the certificate."""
    one = _testers(desk).select_related("firm").filter(pk=pk).first()
    if one is None:
        raise Http404("No such tester.")
    return _tester(request, desk, one)


def _tester(request: HttpRequest, desk: Desk, one: Tester | None) -> HttpResponse:
    initial = {}
    if one:
        term = one.certifications.order_by("-valid_to").first()
        initial = {"firm": one.firm.name, "certificate": one.certificate, "name": one.name}
        if term:
            initial |= {"issued_by": term.issued_by}
            initial |= {"valid_from": term.valid_from, "valid_to": term.valid_to}  # type: ignore[dict-item]
    form = TesterForm(request.POST or None, initial=initial)
    if one:
        form.fields["firm"].disabled = True
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            keep_tester(
                program=desk.program,
                tester=one,
                firm_name=told["firm"],
                values={"certificate": told["certificate"], "name": told["name"]},
                term=(told["valid_from"], told["valid_to"]),
                issued_by=told["issued_by"],
                hand=desk.hand(),
            )
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, "The tester is kept and approved for that term.")
            return redirect("testers", code=desk.program.code)
    return _show(request, desk, form, "Change the tester" if one else "New tester")


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def gauge_new(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A new gauge, approved from its calibration."""
    return _gauge(request, desk, None)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def gauge_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Add a calibration of a gauge; the earlier ones stay."""
    one = _gauges(desk).select_related("firm").filter(pk=pk).first()
    if one is None:
        raise Http404("No such gauge.")
    return _gauge(request, desk, one)


def _gauge(request: HttpRequest, desk: Desk, one: Gauge | None) -> HttpResponse:
    initial = {"firm": one.firm.name, "serial": one.serial} if one else {}
    form = GaugeForm(request.POST or None, initial=initial)
    if one:
        form.fields["firm"].disabled = True
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            keep_gauge(
                program=desk.program,
                gauge=one,
                firm_name=told["firm"],
                serial=told["serial"],
                calibrated_on=told["calibrated_on"],
                hand=desk.hand(),
            )
        except RefusedChangeError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, "The gauge and its calibration are kept.")
            return redirect("testers", code=desk.program.code)
    return _show(request, desk, form, "A new calibration" if one else "New gauge")


def _show(
    request: HttpRequest, desk: Desk, form: TesterForm | GaugeForm, title: str
) -> HttpResponse:
    context = {
        "desk": desk,
        "form": form,
        "title": title,
        "back": reverse("testers", args=[desk.program.code]),
    }
    return render(request, "scheduling/form.html", context)
