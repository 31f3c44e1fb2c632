"""Letters that came back: entered by their codes, settled one by one; letters sent in error."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from notices.actions.handovers import keep_handover_photo
from notices.actions.returned import enter_returned
from notices.actions.sent_in_error import mark_letter
from notices.actions.settling_returned import by_other_means, goes_on, new_address
from notices.domain.kinds import Channel
from notices.domain.returns import SECOND_CHANNELS, CameBack
from notices.forms.contacts import AddressForm, ReturnedForm
from notices.models import Delivery, HandoverPhoto, Letter, ReturnedLetter
from notices.queries.contacts import what_became
from notices.views.contacts import day_of
from registry.access import Verb
from registry.console import Refused
from registry.domain.kinds import PictureKind
from registry.photos import MOST_BYTES
from registry.queries.removals import removal_of, removed_words
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.views.desk import Desk, at_desk

_ROWS = 100


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.RELEASE)
def letters_returned(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Enter letters that came back, one a line; those that wait for a person stand first."""
    form = ReturnedForm(
        request.POST if request.method == "POST" else None, initial={"on": desk.today}
    )
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            done = enter_returned(
                told["codes"],
                how=CameBack(told["how"]),
                came_back_on=told["on"],
                words=told["words"],
                day=day_of(desk),
                hand=desk.hand(),
            )
        except Refused as refusal:
            form.add_error("on", str(refusal))
        else:
            if done.kept:
                many = "letter is" if len(done.kept) == 1 else "letters are"
                messages.success(request, f"{len(done.kept)} {many} entered as {told['how']}.")
            for row, why in done.faults[:20]:
                messages.error(request, f"Line {row}: {why}")
            return redirect("letters-returned", code=desk.program.code)
    rows = ReturnedLetter.objects.filter(program=desk.program).select_related("letter", "second")
    waiting = rows.filter(settled_at__isnull=True, second__isnull=True).order_by("entered_at", "pk")
    settled = rows.exclude(settled_at__isnull=True, second__isnull=True)
    context = {
        "desk": desk,
        "form": form,
        "waiting": list(waiting[:_ROWS]),
        "settled": [(row, what_became(row)) for row in settled[:_ROWS]],
        "address": AddressForm(auto_id="address_%s"),
        "channels": SECOND_CHANNELS,
    }
    return render(request, "notices/returned.html", context)


@require_POST
@at_desk(verb=Verb.RELEASE)
def letters_returned_settle(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Settle one: another address, another way, or it goes on as it is."""
    found = get_object_or_404(ReturnedLetter, program=desk.program, pk=pk)
    act, day = request.POST.get("act", ""), day_of(desk)
    reason = request.POST.get("reason", "")[:500].replace("\x00", "").strip()
    try:
        if act == "address":
            address = {name: request.POST.get(name, "")[:300].replace("\x00", "")
                       for name in ("address", "city", "state", "zip")}  # fmt: skip
            new_address(found.pk, address=address, day=day, hand=desk.hand())
            told = "The next run sends it again; its clock runs from that leaving."
        elif act == "means":
            channel = Channel(request.POST.get("channel", ""))
            by_other_means(found.pk, channel=channel, day=day, hand=desk.hand())
            told = "It goes again that way. Say on its page when it has left."
        elif act == "on":
            goes_on(found.pk, day=day, hand=desk.hand(reason))
            told = "The clock goes on, and the reason is kept."
        else:
            raise Refused("Choose what becomes of it.")
    except (Refused, RefusedChangeError, ValueError) as refusal:
        said = str(refusal) if isinstance(refusal, Refused | RefusedChangeError) else ""
        messages.error(request, said or "Choose one of the ways shown.")
    else:
        messages.success(request, told)
    return redirect(_back(request, desk))


@require_POST
@at_desk(verb=Verb.SETTLE)
def letter_error(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Mark what a letter said as sent in error, with a reason; a letter of correction follows."""
    letter = get_object_or_404(Letter, program=desk.program, pk=pk)
    reason = request.POST.get("reason", "")[:500].replace("\x00", "").strip()
    try:
        written = mark_letter(letter, reason=reason, day=day_of(desk), hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        follows = " The letter of correction leaves with the next run." if written else ""
        messages.success(request, f"What it said counts for nothing.{follows}")
    return redirect("letter", code=desk.program.code, pk=pk)


@require_POST
@at_desk(verb=Verb.RELEASE)
def delivery_photo(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep a photo of a door tag or of a letter handed over."""
    row = get_object_or_404(Delivery, letter__program=desk.program, pk=pk)
    upload = request.FILES.get("photo")
    if upload is None:
        messages.error(request, "Choose a photo first.")
    elif (upload.size or 0) > MOST_BYTES:
        messages.error(request, f"A photo has at most {MOST_BYTES // 1024 // 1024} MB.")
    else:
        try:
            keep_handover_photo(row, data=upload.read(), hand=desk.hand())
        except Refused as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, "The photo is kept.")
    return redirect("letter", code=desk.program.code, pk=row.letter_id)


@require_GET
@at_desk(verb=Verb.LOOK)
def handover_photo(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The photo as it is kept."""
    found = HandoverPhoto.objects.filter(delivery__letter__program=desk.program, pk=pk).first()
    if found is None:
        raise Http404("No such photo.")
    removal = removal_of(PictureKind.HANDED_OVER, found.pk)
    if removal is not None:
        raise Http404(removed_words(removal))
    response = HttpResponse(bytes(found.content), content_type="image/jpeg")
    response["Content-Disposition"] = f'inline; filename="delivery-{found.delivery_id}.jpg"'
    response["Cache-Control"] = "private, max-age=3600"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _back(request: HttpRequest, desk: Desk) -> str:
    """Back to the letter's page where the form stood there, else to the list."""
    wanted = request.POST.get("back", "")
    if wanted.startswith(f"/p/{desk.program.code}/letters/") and url_has_allowed_host_and_scheme(
        wanted, allowed_hosts=None
    ):
        return wanted
    return f"/p/{desk.program.code}/letters/returned/"
