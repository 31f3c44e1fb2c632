"""Where a recipient asks for reminders on paper: looking changes nothing, only the button does."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from notices.catalogues import words_in
from notices.delivery.stops import stop_address
from notices.domain.kinds import Channel
from notices.models import Delivery, MailStop
from notices.owner.pages import LANGUAGE_NAMES, letter_by_token, page_language


@csrf_exempt  # RFC 8058: a mail program posts here without having been on any page
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def stop_reminders(request: HttpRequest, token: str) -> HttpResponse:
    """Show the button, or stop reminders by e-mail to the address this letter went to."""
    letter = letter_by_token(token)
    mail = Delivery.objects.filter(letter=letter, channel=Channel.EMAIL).first() if letter else None
    if letter is None or mail is None or not mail.address:
        raise Http404("No e-mail has this link.")
    if request.method == "POST":
        stop_address(
            letter.program,
            address=mail.address,
            words="Asked for by the link in an e-mail.",
            at=timezone.now(),
            is_courtesy_only=True,
        )
    is_stopped = MailStop.objects.filter(
        program=letter.program,
        address=mail.address.lower(),
        is_courtesy_only=True,
        lifted_at__isnull=True,
    ).exists()
    language = page_language(request.GET.get("lang", ""), letter=letter)
    other = "en" if language != "en" else "es"
    tell = words_in(language).gettext
    context = {
        "language": language,
        "other": (other, LANGUAGE_NAMES[other]),
        "office": letter.program.name,
        "is_stopped": is_stopped,
        "title": tell("Reminders on paper"),
        "done": tell(
            "From now on reminders come on paper. Notices that the rules ask for still come."
        ),
        "ask": tell("Get reminders on paper instead of by e-mail?"),
        "button": tell("Yes, on paper"),
        "referrer": "no-referrer",
    }
    response = render(request, "notices/owner/reminders.html", context)
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response
