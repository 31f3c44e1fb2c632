"""What a device talks to: records and photos in, receipts out, and the pages it keeps."""

from __future__ import annotations

import json
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.request import RawPostDataException
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.domain.kinds import PictureKind
from registry.models import Assembly
from registry.queries.removals import removal_of, removed_words
from reports.actions.entries import FROM_DEVICE, FROM_FILE, Sender, Taken, take_entry
from reports.actions.entry_photos import PhotoRefusedError, keep_photo
from reports.domain.entry_body import BodyError, EntryBody, read_body
from reports.domain.entry_file import EntryFileError, read_entry_file
from reports.entering.kept_pages import assets, worker_text
from reports.models import EntryPhoto, FieldEntry
from reports.queries.entry_rights import assemblies_to_test, entries_seen, stops_today
from reports.views.entering import TESTED_TYPES, entering, photos_missing, sender_of
from scheduling.views.desk import Desk, Seat, at_desk

_OF_ANOTHER = "This was handed in by somebody else. It goes when they are logged in."
KEPT_COOKIE = "waterclerk_kept"
MOST_READY = 60
MOST_FILE_BYTES = 120_000_000


@require_GET
def enter_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps the pages on a device; asked for anew each time, never kept."""
    answer = HttpResponse(worker_text(), content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache, no-store, must-revalidate"
    return answer


@require_GET
@entering
def enter_standing(request: HttpRequest, desk: Desk) -> JsonResponse:
    """How records stand now, by their ids: what became of each since its receipt."""
    ids = [found for told in request.GET.getlist("id")[:MOST_READY] if (found := _uuid(told))]
    entries = entries_seen(desk).filter(client_id__in=ids)
    return JsonResponse({"records": [_standing(entry) for entry in entries]})


def _standing(entry: FieldEntry) -> dict[str, Any]:
    test = entry.field_test
    return {
        "id": str(entry.client_id),
        "outcome": test.outcome if test else "",
        "counts": bool(test and test.counts),
        "needs_a_look": bool(entry.faults or test is None or test.waits_for_person),
        "decision": test.decision if test else "",
    }


@require_GET
@entering
def enter_manifest(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What a phone needs to put these pages on its home screen, with our own icons."""
    home = reverse("enter", args=[desk.program.code])
    sizes = (("192x192", "home-192", "any"), ("512x512", "home-512", "any"))
    icons = [*sizes, ("512x512", "home-512-maskable", "maskable")]
    answer = {
        "id": home,
        "name": f"Field tests, {desk.program.name}",
        "short_name": "Field tests",
        "start_url": home,
        "scope": home,
        "display": "standalone",
        "background_color": "#f7f9f8",
        "theme_color": "#f7f9f8",
        "icons": [
            {
                "src": static(f"waterclerk/icons/{name}.png"),
                "sizes": size,
                "type": "image/png",
                "purpose": purpose,
            }
            for size, name, purpose in icons
        ],
    }
    return HttpResponse(json.dumps(answer), content_type="application/manifest+json")


@require_POST
@entering
def enter_marked(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Note on the device that its store held our mark today.

    A cookie that the office sets outlives a store that a browser empties: where it is there and
    the mark is not, the page says so.
    """
    answer = HttpResponse(status=204)
    answer.set_cookie(
        KEPT_COOKIE,
        timezone.now().date().isoformat(),
        max_age=365 * 24 * 3600,
        samesite="Lax",
        secure=request.is_secure(),
    )
    return answer


@require_GET
@entering
@ensure_csrf_cookie
def enter_ready(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What a device fetches to be ready: the pages of the day, and the files they need."""
    stops = stops_today(desk)
    first = [work.assembly_id for stop in stops for work in stop.work.all()]
    mine = assemblies_to_test(desk) if desk.seat is Seat.FIRM else Assembly.objects.none()
    others = mine.exclude(pk__in=first).order_by("state__due_on", "pk")
    wanted = [*first, *others.values_list("pk", flat=True)[:MOST_READY]][:MOST_READY]
    code = desk.program.code
    pages = [reverse("enter", args=[code])]
    pages += [reverse("enter-assembly", args=[code, pk]) for pk in dict.fromkeys(wanted)]
    pages += [reverse("enter-blank", args=[code, one.value]) for one in TESTED_TYPES]
    answer = {
        "pages": pages,
        "assets": assets(),
        "stops": len(stops),
        "assemblies": len(set(wanted)),
        "day": desk.today.isoformat(),
    }
    return JsonResponse(answer)


@require_POST
@entering
def enter_send(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A record from a device: the receipt, or why it is no record."""
    if _is_of_another(request, desk):
        return JsonResponse({"message": _OF_ANOTHER}, status=403)
    try:
        body = read_body(_json(_raw(request)))
    except BodyError as error:
        return JsonResponse({"field": error.field, "message": error.message}, status=422)
    taken = _taken(desk, body=body, sender=sender_of(desk, channel=FROM_DEVICE))
    return JsonResponse(_receipt(desk, taken))


@require_POST
@entering
def enter_photo(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A photo from a device, under its record and hash."""
    if _is_of_another(request, desk):
        return JsonResponse({"message": _OF_ANOTHER}, status=403)
    record = _uuid(request.GET.get("record", ""))
    entry = entries_seen(desk).filter(client_id=record).first() if record else None
    if entry is None:
        message = "Its record is not here yet; the record goes first."
        return JsonResponse({"message": message, "try_again": True}, status=409)
    sha256 = request.GET.get("sha256", "")
    try:
        keep_photo(entry=entry, sha256=sha256, data=_raw(request), at=desk.now)
    except PhotoRefusedError as error:
        refusal = {"message": str(error), "try_again": error.try_again}
        return JsonResponse(refusal, status=422)
    answer = {"receipt": entry.receipt, "sha256": sha256, "missing": photos_missing(entry)}
    return JsonResponse(answer)


@require_GET
@entering
def enter_picture(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A photo as we drew it."""
    photo = EntryPhoto.objects.filter(pk=pk, entry__in=entries_seen(desk).values("pk")).first()
    if photo is None:
        raise Http404("No such photo.")
    removal = removal_of(PictureKind.REPORT_PHOTO, pk)
    if removal is not None:
        raise Http404(removed_words(removal))
    return HttpResponse(
        bytes(photo.content),
        content_type="image/jpeg",
        headers={"Cache-Control": "private, max-age=86400", "X-Content-Type-Options": "nosniff"},
    )


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.ENTER_TEST)
def enter_file(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Takes in the file a phone saved, with the same result as sending."""
    context: dict[str, Any] = {"desk": desk}
    status = 200
    if request.method == "POST":
        try:
            context["results"] = _from_file(request, desk)
        except EntryFileError as error:
            context["why"], status = str(error), 422
    return render(request, "reports/entering/file.html", context, status=status)


def _from_file(request: HttpRequest, desk: Desk) -> list[dict[str, Any]]:
    upload = request.FILES.get("file")
    if upload is None:
        raise EntryFileError("Choose the file that was saved on the phone.")
    if (upload.size or 0) > MOST_FILE_BYTES:
        raise EntryFileError("The file is larger than 120 MB. Save it in parts.")
    saved = read_entry_file(upload.read())
    sender = sender_of(desk, channel=FROM_FILE)
    results: list[dict[str, Any]] = []
    for number, record in enumerate(saved.records, start=1):
        try:
            taken = _taken(desk, body=read_body(record), sender=sender)
        except BodyError as error:
            results.append({"number": number, "why": error.message})
            continue
        photos = [one for one in saved.photos if one.record == str(taken.entry.client_id)]
        refused = []
        for photo in photos:
            try:
                keep_photo(entry=taken.entry, sha256=photo.sha256, data=photo.data, at=desk.now)
            except PhotoRefusedError as error:
                refused.append(str(error))
        results.append({"number": number, "taken": taken, "refused": refused})
    return results


def _taken(desk: Desk, *, body: EntryBody, sender: Sender) -> Taken:
    assembly = assemblies_to_test(desk).filter(pk=body.assembly_id or 0).first()
    return take_entry(program=desk.program, body=body, assembly=assembly, sender=sender)


def _receipt(desk: Desk, taken: Taken) -> dict[str, Any]:
    entry, test = taken.entry, taken.entry.field_test
    return {
        **_standing(entry),
        "receipt": entry.receipt,
        "received_at": entry.received_at.isoformat(),
        "first": taken.is_first,
        "other_version": taken.is_other_version,
        "reasons": [str(one) for one in test.reasons] if test else _faults_told(entry.faults),
        "missing_photos": photos_missing(entry),
        "page": reverse("enter-record", args=[desk.program.code, entry.pk]),
    }


def _faults_told(faults: list[dict[str, Any]]) -> list[str]:
    return [str(fault.get("message", "")) for fault in faults]


def _is_of_another(request: HttpRequest, desk: Desk) -> bool:
    """Whether a page kept for one person sends while another is logged in on that device."""
    said = request.headers.get("X-Handed-In-By", "")
    return bool(said) and said != str(desk.person.pk)


def _raw(request: HttpRequest) -> bytes:
    """The bytes sent; none where they came as a form, which is not how a device sends."""
    try:
        return request.body
    except RawPostDataException:
        return b""


def _json(data: bytes) -> object:
    try:
        return json.loads(data)
    except (ValueError, RecursionError) as error:
        raise BodyError(field="record", message="This is no record of a field test.") from error


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
