"""Acceptance limits: the methods that ship, and a program's own copies of them."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from reports.actions.own_methods import OwnMethodError, keep_own_method, used_by
from reports.models import OwnMethod
from reports.queries.methods import every_method, method_names, method_text
from scheduling.forms.plain import PlainForm
from scheduling.views.desk import Desk, at_desk
from scheduling.views.rules_in_force import rulebook_of


class MethodForm(PlainForm):
    """The text of a method's limits."""

    widths = {"text": "full"}

    text = forms.CharField(
        label="Limits",
        max_length=60_000,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 30, "spellcheck": "false"}),
        help_text=(
            'Give it a name of its own. Every figure keeps its citation; write unit = "kPa" for'
            " limits in kPa: readings are then entered in kPa, and nothing is converted."
        ),
    )


@require_GET
@at_desk(verb=Verb.LOOK)
def methods(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every method with its limits and sources, and which one judges here today."""
    book = rulebook_of(desk)
    own = {row.name: row for row in OwnMethod.objects.filter(program=desk.program)}
    in_force = book.method if book else ""
    known = sorted(every_method(desk.program), key=lambda one: (one.name != in_force, one.name))
    context = {
        "desk": desk,
        "in_force": in_force,
        "methods": [(one, own.get(one.name)) for one in known],
    }
    return render(request, "reports/methods/list.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def method_new(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A copy of a method, to be changed before it is kept."""
    source = request.GET.get("copy", "")
    row = OwnMethod.objects.filter(program=desk.program, name=source).first()
    if row is None and source not in method_names():
        source = method_names()[0]
    text = row.text if row else method_text(source)
    return _edited(request, desk, None, copied_from=source, text=text)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def method_change(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Limits of the program's own, as long as nothing rests on them."""
    row = OwnMethod.objects.filter(program=desk.program, pk=pk).first()
    if row is None:
        raise Http404("No such method.")
    return _edited(request, desk, row, copied_from=row.copied_from, text=row.text)


def _edited(
    request: HttpRequest, desk: Desk, row: OwnMethod | None, *, copied_from: str, text: str
) -> HttpResponse:
    form = MethodForm(request.POST or None, initial={"text": text})
    back = reverse("methods", args=[desk.program.code])
    if request.method == "POST" and form.is_valid():
        try:
            kept = keep_own_method(
                program=desk.program,
                method=row,
                copied_from=copied_from,
                text=form.cleaned_data["text"].replace("\r\n", "\n"),
                hand=desk.hand(),
            )
        except OwnMethodError as refusal:
            form.add_error("text", refusal.message)
        else:
            told = f"{kept.name} is kept. A rulebook that names it judges by it from its day."
            messages.success(request, told)
            return redirect(back)
    title = f"Own limits, {row.name}" if row else f"A copy of {copied_from}"
    context = {
        "desk": desk,
        "form": form,
        "title": title,
        "place": used_by(row) if row else "",
        "back": back,
    }
    return render(request, "reports/credentials/form.html", context)
