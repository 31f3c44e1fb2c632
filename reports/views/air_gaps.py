"""An air gap measured: the form, and what came of it."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from registry.access import Verb
from registry.domain.kinds import AssemblyType
from registry.models import Assembly
from reports.actions.air_gaps import AirGapError, record_air_gap
from reports.domain.air_gaps import AirGap
from scheduling.forms.plain import PlainForm, day_field
from scheduling.views.desk import Desk, at_desk


class AirGapForm(PlainForm):
    """What the rule asks of an air gap."""

    measured_on = day_field("Measured on")
    gap_in = forms.DecimalField(
        label="Gap, inches", min_value=0, max_value=120, decimal_places=4,
        help_text="From the end of the supply to the flood level rim",
    )  # fmt: skip
    supply_in = forms.DecimalField(
        label="Inner diameter of the supply, inches", max_value=60, decimal_places=4
    )
    is_by_wall = forms.BooleanField(
        label="A wall or other obstruction stands close to it", required=False,
        help_text="Then three times the diameter is asked for, never below 1.5 in",
    )  # fmt: skip


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def air_gap(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Measure an air gap; a gap wide enough meets its inspection."""
    found = Assembly.objects.filter(program=desk.program, pk=pk, type=AssemblyType.AG)
    one = found.select_related("program").first()
    if one is None:
        raise Http404("No such air gap.")
    initial = {"supply_in": one.size_in, "measured_on": desk.today}
    form = AirGapForm(request.POST or None, initial=initial)
    back = reverse("assembly", args=[desk.program.code, pk])
    if request.method == "POST" and form.is_valid():
        told = dict(form.cleaned_data)
        on = told.pop("measured_on")
        try:
            judged = record_air_gap(
                assembly=one, measured=AirGap(**told), on=on, today=desk.today, hand=desk.hand()
            )
        except AirGapError as refusal:
            form.add_error(refusal.field, refusal.message)
        else:
            passed = "It is wide enough." if judged.margin_in >= 0 else "It is too small."
            messages.success(request, f"{passed} {judged.reason}")
            return redirect(back)
    context = {"desk": desk, "form": form, "title": f"Measure air gap {one.serial}", "back": back}
    return render(request, "reports/credentials/form.html", context)
