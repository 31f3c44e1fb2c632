"""Pictures and scans looked at one by one; the administrator removes one for good."""

from __future__ import annotations

import re

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb
from registry.console import Refused
from registry.domain.kinds import PictureKind
from registry.models import PictureRemoval
from registry.queries.removals import removed_words
from reports.erasing.people import KINDS, person_of
from reports.erasing.pictures import LISTS, SHOWN, UNKEYED, WORDS, Picture, listed, picture_of
from reports.erasing.removing import KEPT, bytes_of, remove_picture
from scheduling.forms.plain import PlainForm, text_field
from scheduling.views.desk import Desk, at_desk

_OF_PERSON = re.compile(rf"({'|'.join(KINDS)})-(\d{{1,18}})")


class RemoveForm(PlainForm):
    """Why, and that the person has looked at it."""

    reason = text_field(
        "Why", required=True, longest=500, help_text="who asked, when; do not write the name here"
    )
    is_sure = forms.BooleanField(
        label="I have looked at it, and know that it cannot be brought back",
        error_messages={"required": "Look at it, and say so: it cannot be brought back."},
    )
    widths = {"reason": "full", "is_sure": "full"}


@require_GET
@at_desk(verb=Verb.SET_UP)
def erase_pictures(request: HttpRequest, desk: Desk) -> HttpResponse:
    """One list of pictures or scans, the newest first; those removed stand with their hash."""
    of = request.GET.get("of", UNKEYED)
    of = of if of in LISTS else UNKEYED
    words = request.GET.get("q", "")[:200].replace("\x00", "")
    told = request.GET.get("page", "1")
    page = int(told) if told.isascii() and told.isdigit() and 0 < len(told) < 6 else 1
    pictures, total = listed(desk.program, of=of, words=words, page=max(page, 1))
    removed = PictureRemoval.objects.filter(program=desk.program)
    context = {
        "desk": desk,
        "of": of,
        "q": words,
        "lists": [(key, label) for key, (_, label) in LISTS.items()],
        "label": LISTS[of][1],
        "pictures": pictures,
        "total": total,
        "page": page,
        "before": page - 1,
        "after": page + 1 if page * SHOWN < total else 0,
        "removed": [(WORDS[PictureKind(row.what)], row) for row in removed[:SHOWN]],
        "removed_total": removed.count(),
    }
    return render(request, "reports/erasing/pictures.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def erase_picture(request: HttpRequest, desk: Desk, kind: str, pk: int) -> HttpResponse:
    """Look at a picture and what stays of it; posted with a reason, its bytes are removed."""
    picture = _picture_or_404(desk, kind=kind, pk=pk)
    back = request.GET.get("back", "")
    form = RemoveForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            remove_picture(
                desk.program, kind=picture.kind, pk=pk, hand=desk.hand(form.cleaned_data["reason"])
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Removed: the {picture.what}. Its hash is kept.")
            return redirect(_back(desk, back=back, picture=picture))
    row = KEPT[picture.kind].rows(desk.program).get(pk=pk)
    data, mime = bytes_of(row, kind=picture.kind)
    context = {
        "desk": desk,
        "picture": picture,
        "form": form,
        "size": len(data),
        "is_image": mime.startswith("image/"),
        "back": _back(desk, back=back, picture=picture),
    }
    return render(request, "reports/erasing/picture.html", context)


@require_GET
@at_desk(verb=Verb.SET_UP)
def erase_picture_file(request: HttpRequest, desk: Desk, kind: str, pk: int) -> HttpResponse:
    """The bytes as they are kept."""
    picture = _picture_or_404(desk, kind=kind, pk=pk)
    if picture.removal is not None:
        raise Http404(removed_words(picture.removal))
    row = KEPT[picture.kind].rows(desk.program).get(pk=pk)
    data, mime = bytes_of(row, kind=picture.kind)
    # What may be removed in a minute is not left in a browser's store.
    headers = {"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"}
    return HttpResponse(data, content_type=mime, headers=headers)


def _picture_or_404(desk: Desk, *, kind: str, pk: int) -> Picture:
    known = next((one for one in PictureKind if one.value == kind), None)
    found = picture_of(desk.program, kind=known, pk=pk) if known else None
    if found is None:
        raise Http404("No such picture.")
    return found


def _back(desk: Desk, *, back: str, picture: Picture) -> str:
    """To the person it was looked at for, where they are not erased; else to its list."""
    code, told = desk.program.code, _OF_PERSON.fullmatch(back)
    if told and person_of(desk.program, what=told[1], pk=int(told[2])) is not None:
        return reverse("erase-person", args=[code, told[1], int(told[2])])
    of = next(key for key, (kind, _) in LISTS.items() if kind is picture.kind)
    return f"{reverse('erase-pictures', args=[code])}?of={of}"
