"""A tester and a gauge: every term and calibration with its days, and what lapses soon."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from registry.models import Calibration, Certification, Gauge, Tester
from reports.actions.credentials import (
    CalibrationTold,
    CredentialError,
    TermTold,
    end_term,
    keep_calibration,
    keep_term,
    strike_calibration,
)
from reports.credential_forms import CalibrationForm, EndForm, StrikeForm, TermForm
from reports.drawing.credential_ribbon import Span, Stroke, credential_ribbon
from reports.models import FieldTest
from reports.queries.credentials import term_of
from reports.queries.lapsing import gauge_months
from scheduling.forms.plain import PlainForm
from scheduling.views.desk import Desk, at_desk

_TESTS = 400
_SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class SpanShown:
    """A row of the table: the row, until when it holds, and a word of how it stands."""

    row: Certification | Calibration
    until: date
    mark: str
    word: str


@require_GET
@at_desk(verb=Verb.LOOK)
def tester(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A tester's certificates as a ribbon and a table, with the tests done under them."""
    one = _tester(desk, pk)
    terms = list(Certification.objects.filter(program=desk.program, tester=one))
    tests = _tests(desk, tester=one)
    rows = [_term_row(row, today=desk.today) for row in terms]
    spans = [Span(first=one.row.valid_from, last=one.until) for one in rows]  # type: ignore[union-attr]
    return _page(request, desk, one, kind="tester", rows=rows, spans=spans, tests=tests)


@require_GET
@at_desk(verb=Verb.LOOK)
def gauge(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A gauge's calibrations as a ribbon and a table, with the tests done with it."""
    one = _gauge(desk, pk)
    months = gauge_months(desk.program, today=desk.today)
    found = Calibration.objects.filter(program=desk.program, gauge=one).defer("certificate")
    rows = [_calibration_row(row, months=months, today=desk.today) for row in found]
    spans = [
        Span(first=row.row.calibrated_on, last=row.until, is_struck=row.row.struck_at is not None)
        for row in rows
        if isinstance(row.row, Calibration)
    ]
    tests = _tests(desk, gauge=one)
    return _page(request, desk, one, kind="gauge", rows=rows, spans=spans, tests=tests)


def _page(
    request: HttpRequest,
    desk: Desk,
    one: Tester | Gauge,
    *,
    kind: str,
    rows: Sequence[SpanShown],
    spans: Sequence[Span],
    tests: Sequence[FieldTest],
) -> HttpResponse:
    strokes = [Stroke(on=test.tested_on, is_doubtful=bool(test.later_doubts)) for test in tests]
    doubtful = sum(stroke.is_doubtful for stroke in strokes)
    says = f"{one}: {len(spans)} spans of days, {len(strokes)} tests, {doubtful} of them doubtful."

    def drawn(width: float) -> SafeString:
        told = credential_ribbon(spans, strokes, today=desk.today, width=width, says=says)
        return mark_safe(told)  # noqa: S308  (drawn by us from days)

    context = {
        "desk": desk,
        "one": one,
        "kind": kind,
        "rows": rows,
        "wide": drawn(1176),
        "narrow": drawn(358),
        "tests": tests[:_SHOWN],
        "total": len(tests),
        "doubtful": [test for test in tests if test.later_doubts and test.waits_for_person],
    }
    return render(request, f"reports/credentials/{kind}.html", context)


def _term_row(row: Certification, *, today: date) -> SpanShown:
    until = term_of(row).last or row.valid_to
    mark, word = _holding(row.valid_from, until, today=today)
    if row.ended_on is not None:
        mark, word = "overdue", f"Ended early: {row.ended_why}"
    return SpanShown(row=row, until=until, mark=mark, word=word)


def _calibration_row(row: Calibration, *, months: int, today: date) -> SpanShown:
    until = row.calibrated_on + relativedelta(months=months)
    mark, word = _holding(row.calibrated_on, until, today=today)
    if row.struck_at is not None:
        mark, word = "overdue", f"Struck: {row.struck_why}"
    return SpanShown(row=row, until=until, mark=mark, word=word)


def _holding(first: date, last: date, *, today: date) -> tuple[str, str]:
    if today < first:
        return "due", "To come"
    return ("good", "Holds") if today <= last else ("idle", "Over")


def _tests(desk: Desk, **whose: Tester | Gauge) -> list[FieldTest]:
    found = FieldTest.objects.filter(program=desk.program, **whose)
    return list(found.select_related("assembly").order_by("-tested_on", "-pk")[:_TESTS])


def _tester(desk: Desk, pk: int) -> Tester:
    found = Tester.objects.filter(approvals__program=desk.program, pk=pk).select_related("firm")
    one = found.first()
    if one is None:
        raise Http404("No such tester.")
    return one


def _gauge(desk: Desk, pk: int) -> Gauge:
    found = Gauge.objects.filter(approvals__program=desk.program, pk=pk).select_related("firm")
    one = found.first()
    if one is None:
        raise Http404("No such gauge.")
    return one


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def term_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Another term, or another certificate, of a tester."""
    one = _tester(desk, pk)
    form = TermForm(request.POST or None)

    def keep() -> str:
        told = TermTold(**form.cleaned_data)
        keep_term(program=desk.program, tester=one, told=told, today=desk.today, hand=desk.hand())
        return "The term is kept."

    back = reverse("tester", args=[desk.program.code, pk])
    return _kept(request, desk, form, keep=keep, title=f"A certificate of {one}", back=back)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def term_end(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say that a term did not hold to its last day; the tests after it wait for a person."""
    row = Certification.objects.filter(program=desk.program, pk=pk).first()
    if row is None:
        raise Http404("No such term.")
    form = EndForm(request.POST or None)

    def keep() -> str:
        told = form.cleaned_data
        marked = end_term(
            program=desk.program, term_id=pk, ended_on=told["ended_on"], why=told["why"],
            today=desk.today, hand=desk.hand(told["why"]),
        )  # fmt: skip
        return _marked(marked)

    back = reverse("tester", args=[desk.program.code, row.tester_id])
    return _kept(request, desk, form, keep=keep, title="End this term", back=back)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def calibration_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A calibration of a gauge, with what it found and its certificate."""
    one = _gauge(desk, pk)
    form = CalibrationForm(request.POST or None, request.FILES or None)

    def keep() -> str:
        told = form.cleaned_data
        sent = told["certificate"]
        calibration = CalibrationTold(
            calibrated_on=told["calibrated_on"],
            as_found_error_psid=told["as_found_error_psid"],
            file_name=sent.name if sent else "",
            content=sent.read() if sent else b"",
        )
        marked = keep_calibration(
            program=desk.program, gauge=one, told=calibration, today=desk.today, hand=desk.hand()
        )
        return _marked(marked)

    back = reverse("gauge", args=[desk.program.code, pk])
    return _kept(request, desk, form, keep=keep, title=f"A calibration of {one}", back=back)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def calibration_strike(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say that a calibration is wrong; the tests it backed wait for a person."""
    row = Calibration.objects.filter(program=desk.program, pk=pk).defer("certificate").first()
    if row is None:
        raise Http404("No such calibration.")
    form = StrikeForm(request.POST or None)

    def keep() -> str:
        why = form.cleaned_data["why"]
        marked = strike_calibration(
            program=desk.program, calibration_id=pk, why=why, today=desk.today, hand=desk.hand(why)
        )
        return _marked(marked)

    back = reverse("gauge", args=[desk.program.code, row.gauge_id])
    return _kept(request, desk, form, keep=keep, title="Strike this calibration", back=back)


@require_GET
@at_desk(verb=Verb.LOOK)
def calibration_file(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The certificate of a calibration as it came."""
    row = Calibration.objects.filter(program=desk.program, pk=pk).first()
    if row is None or not row.certificate:
        raise Http404("No certificate is kept for this calibration.")
    content = bytes(row.certificate)
    kinds = {b"%PDF": "application/pdf", b"\x89PNG": "image/png"}
    answer = HttpResponse(content, content_type=kinds.get(content[:4], "image/jpeg"))
    answer["Content-Disposition"] = f'attachment; filename="calibration-{row.calibrated_on}"'
    return answer


def _marked(marked: int) -> str:
    if not marked:
        return "It is kept. No counting test is in doubt by it."
    tests = "test that counts is" if marked == 1 else "tests that count are"
    return f"It is kept. {marked} {tests} in doubt by it and waits for a person."


def _kept(
    request: HttpRequest,
    desk: Desk,
    form: PlainForm,
    *,
    keep: Callable[[], str],
    title: str,
    back: str,
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        try:
            told = keep()
        except CredentialError as refusal:
            form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)
        else:
            messages.success(request, told)
            return redirect(back)
    context = {"desk": desk, "form": form, "title": title, "back": back}
    return render(request, "reports/credentials/form.html", context)
