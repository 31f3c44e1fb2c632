"""The two addresses printed in a letter: the link, and the form for the short code."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from notices.actions.owner_says import take_words
from notices.catalogues import SECOND_LANGUAGES, words_in
from notices.links import token_of
from notices.models import Letter
from notices.owner.codeform import code_form
from notices.owner.pages import letter_by_token, owner_page, page_language
from notices.owner.saying import said_in
from notices.owner.tries import Opened, try_code
from registry.moments import recording_moment, today_in
from scheduling.models import ProgramClock


@never_cache
@require_safe
def show_page(request: HttpRequest, token: str) -> HttpResponse:
    """Show what is due and why. Looking changes nothing: mail scanners look too."""
    letter = letter_by_token(token)
    if letter is None:
        raise Http404("No letter has this link.")
    language = page_language(request.GET.get("lang", ""), letter=letter)
    page = owner_page(
        letter, language=language, today=today_of(letter), taken=request.GET.get("said", "")
    )
    context = {
        "page": page,
        "token": token,
        "language": language,
        "other": page.other_language,
        "referrer": "no-referrer",
    }
    return _private(render(request, "notices/owner/page.html", context))


@csrf_exempt  # the secret in the address is what lets it speak; no cookie has a say here
@never_cache
@require_POST
def say(request: HttpRequest, token: str) -> HttpResponse:
    """Take the recipient's words to a person; nothing but a question comes of it."""
    letter = letter_by_token(token)
    if letter is None:
        raise Http404("No letter has this link.")
    language = page_language(request.GET.get("lang", ""), letter=letter)
    data = {name: request.POST.get(name, "")[:2000] for name in ("kind", "words", "reach", "key")}
    taken = take_words(
        letter,
        said=said_in(data, language=language),
        today=today_of(letter),
        at=recording_moment(program=letter.program, as_of=today_of(letter), now=timezone.now()),
    )
    where = reverse("owner-page", args=[token])
    answer = HttpResponseRedirect(f"{where}?lang={language}&said={taken.value}#say", status=303)
    return _private(answer)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def enter_code(request: HttpRequest) -> HttpResponse:
    """Take the short code and the ZIP of the mailing address; lead to the page."""
    language = request.GET.get("lang", "")
    words = words_in(language)
    opened = None
    if request.method == "POST":
        opened, letter = try_code(
            typed_code=request.POST.get("code", "")[:40],
            typed_zip=request.POST.get("zip", "")[:20],
            at=timezone.now(),
        )
        if letter is not None:
            return _private(HttpResponseRedirect(_address(letter, language=language), status=303))
    shown = language if language in SECOND_LANGUAGES else "en"
    form = code_form(opened, words=words, language=shown)
    status = 429 if opened is Opened.WAIT else 200
    context = {
        "form": form,
        "language": shown,
        "other": form.other_language,
        "referrer": "same-origin",
    }
    response = _private(render(request, "notices/owner/code.html", context, status=status))
    # Without a referrer a browser sends no origin either, and the form would be refused.
    response["Referrer-Policy"] = "same-origin"
    return response


def _address(letter: Letter, *, language: str) -> str:
    token = token_of(program_code=letter.program.code, number=letter.number)
    address = reverse("owner-page", args=[token])
    return f"{address}?lang={language}" if language in SECOND_LANGUAGES else address


def today_of(letter: Letter) -> date:
    """Today in the program's zone; a trial lives on the day of its last run."""
    if letter.program.is_trial:
        clock = ProgramClock.objects.filter(program=letter.program).first()
        return clock.last_run_on if clock and clock.last_run_on else letter.composed_on
    return today_in(zone=letter.program.zone, now=timezone.now())


def _private(response: HttpResponse) -> HttpResponse:
    """Keep the secret link out of referrers, caches and search engines."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow"
    response["Cache-Control"] = "no-store, private"
    return response
