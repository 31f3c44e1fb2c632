"""A report struck after a later doubt, mended and sent again, or held against other methods."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from reports.actions.deciding import DecisionError, strike_field_test
from reports.actions.found import replace_assembly
from reports.actions.mending import StillFaultyError, mend_field_test
from reports.models import FieldTest
from reports.queries.kept_reports import kept_headers
from reports.queries.other_methods import by_every_method
from reports.views.fieldtests import tests_seen
from reports.views.report_versions import replaced_by
from scheduling.views.desk import Desk, Seat, at_desk

_LONGEST = 2000


@dataclass(frozen=True, kw_only=True)
class CellShown:
    """A cell of the report as it is mended: its number, header, text, and what is amiss."""

    number: int
    header: str
    text: str
    fault: str

    @property
    def name(self) -> str:
        """The field's name in the form."""
        return f"cell{self.number}"


@require_POST
@at_desk(verb=Verb.SETTLE)
def field_test_strike(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take a test out of the count that was found not to hold."""
    test = _test(desk, pk)
    words = request.POST.get("decision", "")[:500].replace("\x00", "")
    try:
        strike_field_test(
            program=desk.program, test_id=test.pk, decision=words, as_of=desk.today,
            hand=desk.hand(words.strip()),
        )  # fmt: skip
    except DecisionError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(request, "The test counts no more; its assembly was worked out anew.")
    return redirect("field-test", code=desk.program.code, pk=pk)


@require_POST
@at_desk(verb=Verb.SETTLE)
def field_test_replaced(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Record in one step that the tested assembly took another's place that day."""
    test = _test(desk, pk)
    old = replaced_by(test)
    if old is None or test.assembly is None:
        messages.error(request, "No assembly in place has the serial that this report replaces.")
        return redirect("field-test", code=desk.program.code, pk=pk)
    hand = desk.hand(f"the report of {test.tested_on} says so")
    replace_assembly(old=old, new=test.assembly, on=test.tested_on, today=desk.today, hand=hand)
    messages.success(request, f"{old.serial} was taken out; {test.assembly.serial} stands for it.")
    return redirect("field-test", code=desk.program.code, pk=pk)


@require_http_methods(["GET", "POST"])
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def field_test_mend(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The report cell by cell; posted, it is sent again and the version before stays."""
    if desk.seat is Seat.OFFICE and not desk.acts["settle"]:
        raise PermissionDenied
    test = _test(desk, pk)
    headers = kept_headers(test)
    written = {name: str(test.cells[name] or "") for name in headers}
    faults: dict[str, str] = {}
    if request.method == "POST":
        for number, name in enumerate(headers):
            sent = request.POST.get(f"cell{number}", written[name])
            written[name] = sent[:_LONGEST].replace("\x00", "")
        try:
            new = mend_field_test(
                program=desk.program, test_id=test.pk, cells=written, as_of=desk.today,
                hand=desk.hand("mended and sent again"),
            )  # fmt: skip
        except StillFaultyError as error:
            faults = dict(error.faults)
        except DecisionError as refusal:
            messages.error(request, refusal.message)
        else:
            messages.success(request, "The mended report is kept beside the one before.")
            return redirect("field-test", code=desk.program.code, pk=new.pk)
    cells = [
        CellShown(number=number, header=name, text=written[name], fault=faults.get(name, ""))
        for number, name in enumerate(headers)
    ]
    context = {"desk": desk, "test": test, "cells": cells, "faults": faults}
    return render(request, "reports/field_test_mend.html", context)


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def field_test_methods(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """How the same readings turn out under every method; nothing moves by it."""
    test = _test(desk, pk)
    context = {
        "desk": desk,
        "test": test,
        "rows": by_every_method(test, today=desk.today),
    }
    return render(request, "reports/field_test_methods.html", context)


def _test(desk: Desk, pk: int) -> FieldTest:
    found = tests_seen(desk).filter(pk=pk).select_related("assembly", "batch")
    test = found.first()
    if test is None:
        raise Http404("No such field test.")
    return test
