"""Assemblies found in the field and not in the registry: a person says what each one is."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from registry.domain.assembly_types import read_type
from registry.domain.cells import UnreadableCellError
from registry.domain.identity import serial_key
from registry.domain.kinds import AssemblyType, PictureKind
from registry.models import Assembly, Premises
from registry.queries.removals import with_removals
from reports.actions.deciding import DecisionError
from reports.actions.found import FoundTold, accept_as_new, accept_as_replacement
from reports.found_forms import AS_NEW, AS_REPLACEMENT, FoundForm
from reports.models import EntryPhoto, FieldTest, FoundAssembly
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.views.desk import Desk, at_desk

_ROWS = 25
_NEAR = 8


@require_GET
@at_desk(verb=Verb.LOOK)
def found_list(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What waits, oldest first."""
    waiting = FoundAssembly.objects.filter(program=desk.program, settled_at__isnull=True)
    context = {
        "desk": desk,
        "rows": list(waiting.select_related("field_test")[:_ROWS]),
        "total": waiting.count(),
        "shown": _ROWS,
    }
    return render(request, "reports/found/list.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SETTLE)
def found_one(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One of them: its readings, address and photos, and the form that takes it in."""
    found = FoundAssembly.objects.filter(program=desk.program, pk=pk)
    one = found.select_related("field_test", "assembly").first()
    if one is None:
        raise Http404("No such assembly found.")
    form = FoundForm(request.POST or None, initial=_initial(one))
    if request.method == "POST" and one.settled_at is None and form.is_valid():
        try:
            test = _accept(desk, one, form.cleaned_data)
        except (DecisionError, RefusedChangeError) as refusal:
            field = refusal.field if refusal.field in form.fields else None
            form.add_error(field, refusal.message)
        else:
            messages.success(request, _told(test))
            return redirect("assembly", code=desk.program.code, pk=test.assembly_id)
    context = {
        "desk": desk,
        "one": one,
        "test": one.field_test,
        "form": form,
        "near": _near_serials(desk, one),
        "premises": _near_premises(desk, one),
        "photos": _photos(one),
        "readings": [(name, text) for name, text in one.field_test.initial.items() if text],
    }
    return render(request, "reports/found/one.html", context)


def _initial(one: FoundAssembly) -> dict[str, Any]:
    said = one.stated
    replaces = said.get("installed") == "replacement" or bool(said.get("old_serial"))
    return {
        "how": AS_REPLACEMENT if replaces else AS_NEW,
        "old_serial": said.get("old_serial", ""),
        "type": _type_said(said.get("type", "")),
        "serial": said.get("serial", ""),
        "maker": said.get("maker", ""),
        "model": said.get("model", ""),
        "size": said.get("size", ""),
        "location": said.get("location", ""),
        "address": said.get("address", ""),
        "city": said.get("city", ""),
        "was_installed_now": said.get("installed") == "new",
    }


def _type_said(text: str) -> str:
    try:
        found = read_type(text) if text else None
    except UnreadableCellError:
        found = None
    return found.value if found else AssemblyType.RP.value


def _accept(desk: Desk, one: FoundAssembly, told: dict[str, Any]) -> FieldTest:
    written = FoundTold(
        type=AssemblyType(told["type"]),
        maker=told["maker"],
        serial=told["serial"],
        model=told["model"],
        size_in=told["size"],
        location=told["location"],
        address=told["address"],
        city=told["city"],
        name=str(one.stated.get("premises", "")),
        was_installed_now=told["was_installed_now"],
    )
    hand = desk.hand(f"found in the field, taken as {told['how']}")
    if told["how"] == AS_REPLACEMENT:
        old = _replaced(desk, told["old_serial"])
        return accept_as_replacement(
            program=desk.program, found_id=one.pk, old_id=old.pk, told=written,
            today=desk.today, hand=hand,
        )  # fmt: skip
    return accept_as_new(
        program=desk.program, found_id=one.pk, premises_id=told["premises"], told=written,
        today=desk.today, hand=hand,
    )  # fmt: skip


def _replaced(desk: Desk, serial: str) -> Assembly:
    found = Assembly.objects.filter(program=desk.program, serial_key=serial_key(serial))
    rows = list(found.filter(state__removed_on__isnull=True)[:2]) if serial.strip() else []
    if len(rows) != 1:
        message = (
            "No assembly in place has this serial. Write the one that was taken out."
            if not rows
            else "Two makers have this serial. Merge or mend them first, or take it as new."
        )
        raise DecisionError(field="old_serial", message=message)
    return rows[0]


def _told(test: FieldTest) -> str:
    counts = "counts" if test.counts else "does not count yet; see why on its page"
    return f"It is in the registry. Its test is kept and {counts}."


def _near_serials(desk: Desk, one: FoundAssembly) -> list[Assembly]:
    near = [str(serial) for serial in one.field_test.near]
    found = Assembly.objects.filter(program=desk.program, serial__in=near)
    return list(found.select_related("premises")[:_NEAR]) if near else []


def _near_premises(desk: Desk, one: FoundAssembly) -> list[Premises]:
    """Premises whose address begins as the report's does: house number and first word."""
    words = str(one.stated.get("address", "")).split()
    if not words:
        return []
    start = " ".join(words[:2])
    found = Premises.objects.filter(program=desk.program, address__istartswith=start)
    return list(found.order_by("address")[:_NEAR])


def _photos(one: FoundAssembly) -> list[EntryPhoto]:
    found = EntryPhoto.objects.filter(entry__field_test=one.field_test).defer("content")
    return with_removals(PictureKind.REPORT_PHOTO, list(found.order_by("pk")))
