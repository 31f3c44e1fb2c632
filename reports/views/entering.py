"""The form of a field test: the list to choose from, the form itself, and what became of it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from functools import wraps
from typing import Any
from uuid import uuid4

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_http_methods

from registry.domain.kinds import UNTESTED_TYPES, AssemblyType, PictureKind
from registry.models import Assembly
from registry.queries.removals import removal_of, with_removals
from reports.actions.entries import FROM_PAGE, Sender, take_entry
from reports.domain.entry_body import FORM_VERSION, BodyError, photos_named, read_body
from reports.domain.entry_report import FormAsked, form_faults, label_of
from reports.entering.form_page import HIDDEN, asked_by, form_context
from reports.entering.kept_pages import build
from reports.entering.prefilled import prefilled
from reports.models import FieldEntry
from reports.queries.entry_forms import attestation_of, limits_for
from reports.queries.entry_rights import (
    MOST_SHOWN,
    assemblies_to_test,
    entries_seen,
    may_enter,
    own_lapses,
    stops_today,
)
from reports.queries.methods import UnknownMethodError
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.views.desk import Desk, Seat, View, at_desk

TESTED_TYPES = tuple(one for one in AssemblyType if one not in UNTESTED_TYPES)


def entering(view: View) -> View:
    """A page for those who may enter a field test; 403 for others with a seat in the program."""

    @at_desk(seats=(Seat.OFFICE, Seat.FIRM))
    @wraps(view)
    def inner(request: HttpRequest, desk: Desk, **rest: Any) -> HttpResponseBase:
        if not may_enter(desk):
            raise PermissionDenied
        return view(request, desk, **rest)

    return inner


@require_GET
@entering
@ensure_csrf_cookie
def enter(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What to test: today's stops, the assemblies in sight, and the blank forms by type."""
    is_office = desk.seat is Seat.OFFICE
    search = request.GET.get("q", "")[:100].replace("\x00", "").strip()
    found = assemblies_to_test(desk)
    if search:
        found = found.filter(serial__icontains=search) | found.filter(
            premises__address__icontains=search
        )
    is_listed = bool(search) or not is_office
    shown = list(found.order_by("state__due_on", "pk")[:MOST_SHOWN]) if is_listed else []
    context = {
        "desk": desk,
        "is_office": is_office,
        "stops": [(stop, stop.arrives_at.astimezone(desk.zone)) for stop in stops_today(desk)],
        "assemblies": shown,
        "search": search,
        "types": TESTED_TYPES,
        "entries": list(entries_seen(desk)[:10]),
        "build": build(),
        "lapses": [] if is_office else own_lapses(desk),
    }
    return render(request, "reports/entering/index.html", context)


@require_http_methods(["GET", "POST"])
@entering
@ensure_csrf_cookie
def enter_assembly(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The form for an assembly in sight."""
    assembly = assemblies_to_test(desk).filter(pk=pk).first()
    if assembly is None:
        raise Http404("No such assembly to test.")
    return _form(request, desk, assembly_type=AssemblyType(assembly.type), assembly=assembly)


@require_http_methods(["GET", "POST"])
@entering
@ensure_csrf_cookie
def enter_blank(request: HttpRequest, desk: Desk, kind: str) -> HttpResponse:
    """The blank form of a type: the report is told by serial and address."""
    if kind not in {one.value for one in TESTED_TYPES}:
        raise Http404("No form for such a type.")
    return _form(request, desk, assembly_type=AssemblyType(kind), assembly=None)


def _form(
    request: HttpRequest, desk: Desk, *, assembly_type: AssemblyType, assembly: Assembly | None
) -> HttpResponse:
    try:
        limits = limits_for(program=desk.program, on=desk.today)
    except (NoRulebookError, UnknownMethodError) as error:
        return render(request, "reports/entering/no_form.html", {"desk": desk, "why": str(error)})
    asked = asked_by(limits, assembly_type=assembly_type, is_known=assembly is not None)
    if request.method == "POST":
        values = {name: str(value) for name, value in request.POST.items() if name not in HIDDEN}
        faults = form_faults(asked, values)
        if not faults:
            return _handed_in(request, desk, asked=asked, values=values, assembly=assembly)
    else:
        values, faults = prefilled(desk=desk, assembly=assembly), []
    context = form_context(
        desk, asked=asked, values=values, faults=faults, limits=limits, assembly=assembly
    )
    context["client_id"] = request.POST.get("client_id") or uuid4()
    status = 422 if faults else 200
    return render(request, "reports/entering/form.html", context, status=status)


def _handed_in(
    request: HttpRequest,
    desk: Desk,
    *,
    asked: FormAsked,
    values: Mapping[str, str],
    assembly: Assembly | None,
) -> HttpResponse:
    try:
        body = read_body(
            {
                "id": request.POST.get("client_id", ""),
                "form": FORM_VERSION,
                "assembly": assembly.pk if assembly else None,
                "type": asked.assembly_type.value,
                "fields": dict(values),
                "attestation": attestation_of(desk.program),
            }
        )
    except BodyError as error:
        return render(
            request,
            "reports/entering/no_form.html",
            {"desk": desk, "why": error.message},
            status=422,
        )
    sender = sender_of(desk, channel=FROM_PAGE)
    taken = take_entry(program=desk.program, body=body, assembly=assembly, sender=sender)
    return redirect("enter-record", code=desk.program.code, pk=taken.entry.pk)


def sender_of(desk: Desk, *, channel: str) -> Sender:
    """Who sends, as an action needs it."""
    return Sender(user_id=desk.person.pk, channel=channel, hand=desk.hand(), today=desk.today)


@require_GET
@entering
def enter_record(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What was handed in, its receipt, its photos, and what became of it."""
    entry = entries_seen(desk).filter(pk=pk).first()
    if entry is None:
        raise Http404("Nothing of that number was handed in.")
    missing = photos_missing(entry)
    photos = with_removals(PictureKind.REPORT_PHOTO, list(entry.photos.defer("content")))
    context = {
        "desk": desk,
        "entry": entry,
        "test": entry.field_test,
        "missing": missing,
        "photos": photos,
        "photo_total": len(photos) + len(missing),
        "versions": list(entry.versions.all()),
        "fields": fields_told(entry.body),
        "signature": b64encode(entry.signature).decode() if entry.signature else "",
        "signature_removal": (
            removal_of(PictureKind.SIGNATURE, entry.pk)
            if entry.signature_sha256 and not entry.signature
            else None
        ),
        "received_at": entry.received_at.astimezone(desk.zone),
    }
    return render(request, "reports/entering/record.html", context)


def photos_missing(entry: FieldEntry) -> list[str]:
    """The hashes of photos that a record names and that have not come yet."""
    here = set(entry.photos.values_list("sent_sha256", flat=True))
    return [one for one in photos_named(entry.body) if one not in here]


def fields_told(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What a record says, field by field, blanks left out."""
    fields = body.get("fields") or {}
    return [(label_of(str(name)), str(value)) for name, value in fields.items() if value]
