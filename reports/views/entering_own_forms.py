"""Forms of the purveyor's own: taken in, mapped, looked at filled, and downloaded for a period."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb, firms_of, visible_assemblies
from registry.models import Firm
from reports.actions.own_forms import drop_own_form, keep_own_form, map_own_form
from reports.domain.own_form_fields import DATE_STYLES, OUR_FIELDS
from reports.domain.own_forms import BlankKind, FormBlank, Mapped, mapped_of
from reports.models import FieldTest, OwnForm
from reports.own_forms.filling import (
    CSV,
    answers_for,
    blanks_of,
    bundle,
    file_name,
    filled_csv,
    filled_pdf,
)
from reports.own_forms.pdf_forms import MOST_BYTES, OwnFormError, fill_pdf
from reports.own_forms.values import values_of
from reports.views.fieldtests import tests_seen
from scheduling.views.desk import Desk, Seat, View, at_desk

MOST_AT_ONCE = 500
_MONTH = timedelta(days=30)
_TO_TRY = 20
_CSV = "text/csv; charset=utf-8"


def own_forms_desk(view: View) -> View:
    """A page for a testing company's people, or for the office's who bring in files."""

    @at_desk(seats=(Seat.OFFICE, Seat.FIRM))
    @wraps(view)
    def inner(request: HttpRequest, desk: Desk, **rest: Any) -> HttpResponseBase:
        if desk.seat is Seat.OFFICE and Verb.LOAD not in desk.verbs:
            raise PermissionDenied
        return view(request, desk, **rest)

    return inner


def _firm(desk: Desk) -> Firm | None:
    return firms_of(desk.person).order_by("pk").first() if desk.seat is Seat.FIRM else None


def _forms(desk: Desk) -> QuerySet[OwnForm]:
    found = OwnForm.objects.filter(program=desk.program)
    if desk.seat is Seat.OFFICE:
        return found.filter(firm__isnull=True)
    return found.filter(firm__in=firms_of(desk.person))


def _form(desk: Desk, pk: int) -> OwnForm:
    form = _forms(desk).filter(pk=pk).first()
    if form is None:
        raise Http404("No such form.")
    return form


def _counted(desk: Desk) -> QuerySet[FieldTest]:
    found = tests_seen(desk).filter(counts=True, assembly__isnull=False)
    return found.select_related("assembly__premises", "assembly__connection", "tester__firm")


def _told(desk: Desk, tests: Sequence[FieldTest]) -> list[dict[str, str]]:
    """Our fields for each test; a company is told the registry only of what it may see."""
    if desk.seat is Seat.OFFICE:
        return values_of(tests)
    ids = [test.assembly_id for test in tests if test.assembly_id is not None]
    seen = visible_assemblies(desk.person).filter(program=desk.program, pk__in=ids)
    return values_of(tests, in_sight=frozenset(seen.values_list("pk", flat=True)))


@require_http_methods(["GET", "POST"])
@own_forms_desk
def own_forms(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The forms taken in, and where another is taken in."""
    problem = ""
    if request.method == "POST":
        file = request.FILES.get("file")
        try:
            if file is None:
                raise OwnFormError("No file was chosen. Choose a fillable PDF, or a CSV.")
            form = keep_own_form(
                program=desk.program,
                firm=_firm(desk),
                name=request.POST.get("name", "").replace("\x00", ""),
                file=((file.name or "form").replace("\x00", ""), file.read(MOST_BYTES + 1)),
                hand=desk.hand(),
            )
        except OwnFormError as refusal:
            problem = str(refusal)
        else:
            messages.success(request, "Taken in. Look at the mapping: it was guessed by its words.")
            return redirect("own-form", code=desk.program.code, pk=form.pk)
    context = {"desk": desk, "forms": list(_forms(desk).defer("content")), "problem": problem}
    return render(request, "reports/own_forms/list.html", context, status=422 if problem else 200)


@require_http_methods(["GET", "POST"])
@own_forms_desk
def own_form(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The mapping of a form, with what a chosen counted test puts into each blank."""
    form = _form(desk, pk)
    if request.method == "POST":
        mapping = {blank.name: _said(request, n) for n, blank in enumerate(blanks_of(form))}
        style = request.POST.get("date_style", "")
        map_own_form(
            form=form,
            mapping={name: one.plain() for name, one in mapping.items()},
            date_style=style if style in DATE_STYLES else form.date_style,
            hand=desk.hand(),
        )
        messages.success(request, "The mapping is kept. Look at the picture below.")
        return redirect("own-form", code=desk.program.code, pk=pk)
    latest = list(_counted(desk)[:_TO_TRY])
    test = _test_asked(request, desk) or (latest[0] if latest else None)
    values = _told(desk, [test])[0] if test else {}
    answers = {one.blank.name: one.text for one in answers_for(form, values)}
    rows = [
        _row(n, blank, mapped_of(form.mapping.get(blank.name)), answers.get(blank.name, ""))
        for n, blank in enumerate(blanks_of(form))
    ]
    context = {
        "desk": desk,
        "form": form,
        "rows": rows,
        "mapped_total": sum(1 for row in rows if row["ours"] or row["fixed"]),
        "ours": sorted(OUR_FIELDS.values(), key=lambda one: one.label.casefold()),
        "styles": list(DATE_STYLES.items()),
        "latest": latest,
        "test": test,
        "notes": _notes(form, answers) if test else (),
        "from_on": (desk.today - _MONTH).isoformat(),
        "to_on": desk.today.isoformat(),
    }
    return render(request, "reports/own_forms/form.html", context)


def _notes(form: OwnForm, answers: dict[str, str]) -> tuple[str, ...]:
    return () if form.kind == CSV else fill_pdf(bytes(form.content), answers=answers).notes


def _said(request: HttpRequest, number: int) -> Mapped:
    def said(name: str) -> str:
        return request.POST.get(f"{name}_{number}", "").replace("\x00", "").strip()[:300]

    ours = said("ours")
    states = request.POST.getlist(f"state_{number}")
    values = request.POST.getlist(f"value_{number}")
    when = {state[:200]: value.strip()[:200] for state, value in zip(states, values, strict=False)}
    return Mapped(
        ours=ours if ours in OUR_FIELDS else "",
        fixed=said("fixed"),
        when={state: value for state, value in when.items() if value},
    )


def _row(number: int, blank: FormBlank, mapped: Mapped, answer: str) -> dict[str, Any]:
    choices = OUR_FIELDS[mapped.ours].choices if mapped.ours in OUR_FIELDS else ()
    return {
        "number": number,
        "blank": blank,
        "is_text": blank.kind is BlankKind.TEXT,
        "ours": mapped.ours,
        "fixed": mapped.fixed,
        "states": [(state, mapped.when.get(state, "")) for state in blank.states],
        "values": ", ".join(value for value, _ in choices),
        "answer": answer,
    }


def _test_asked(request: HttpRequest, desk: Desk) -> FieldTest | None:
    number = request.GET.get("test", "")
    if not (number.isascii() and number.isdigit() and len(number) < 19):
        return None
    return _counted(desk).filter(pk=int(number)).first()


@require_GET
@own_forms_desk
def own_form_filled(request: HttpRequest, desk: Desk, pk: int, test: int) -> HttpResponse:
    """The form filled for one counted test; a PDF opens in the page or its own window."""
    form = _form(desk, pk)
    found = _counted(desk).filter(pk=test).first()
    if found is None:
        raise Http404("No counted test of that number.")
    if form.kind == CSV:
        name = file_name(found).removesuffix(".pdf") + ".csv"
        return _answer(
            filled_csv(form, _told(desk, [found])), mime="text/csv; charset=utf-8", name=name
        )
    content = filled_pdf(form, _told(desk, [found])[0]).content
    return _answer(content, mime="application/pdf", name=file_name(found), how="inline")


@require_GET
@own_forms_desk
def own_form_period(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Every counted test of a period: one ZIP of filled PDFs, or one CSV."""
    form = _form(desk, pk)
    try:
        from_on = date.fromisoformat(request.GET.get("from", ""))
        to_on = date.fromisoformat(request.GET.get("to", ""))
    except ValueError:
        messages.error(request, "Write both days, as 2026-11-25.")
        return redirect("own-form", code=desk.program.code, pk=pk)
    found = _counted(desk).filter(tested_on__gte=from_on, tested_on__lte=to_on)
    tests = list(found.order_by("tested_on", "pk")[: MOST_AT_ONCE + 1])
    if not tests or len(tests) > MOST_AT_ONCE:
        told = "No counted test lies in these days."
        if tests:
            told = f"More than {MOST_AT_ONCE} tests lie in these days. Take a shorter time."
        messages.error(request, told)
        return redirect("own-form", code=desk.program.code, pk=pk)
    name = f"{from_on:%Y-%m-%d}-to-{to_on:%Y-%m-%d}"
    if form.kind == CSV:
        content = filled_csv(form, _told(desk, tests))
        return _answer(content, mime="text/csv; charset=utf-8", name=f"{name}.csv")
    return _answer(
        bundle(form, tests, _told(desk, tests)), mime="application/zip", name=f"{name}.zip"
    )


def _answer(content: bytes, *, mime: str, name: str, how: str = "attachment") -> HttpResponse:
    headers = {
        "Content-Disposition": f'{how}; filename="{name}"',
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "private, no-store",
    }
    return HttpResponse(content, content_type=mime, headers=headers)


@require_POST
@own_forms_desk
def own_form_drop(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take a form out."""
    form = _form(desk, pk)
    drop_own_form(form=form, hand=desk.hand())
    messages.success(request, f"{form.name} is taken out.")
    return redirect("own-forms", code=desk.program.code)
