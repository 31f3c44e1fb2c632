"""The certificates an owner reaches from the letter's page: counted tests at the same premises."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from notices.catalogues import words_in
from notices.models import Letter
from notices.owner.pages import letter_by_token, page_language, premises_of_letter
from notices.owner.views import today_of
from notices.queries.briefs import sender_of
from registry.changes import Hand
from registry.moments import recording_moment
from reports.actions.certificates import NoCertificateError, make_certificate
from reports.domain.owner_certificates import CountedTest, owner_certificates
from reports.domain.verdicts import Outcome
from reports.models import Certificate, FieldTest
from reports.queries.certificates import certificates_of, certified_at
from reports.views.certificates import OTHER, kept_pdf


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def owner_list(request: HttpRequest, token: str) -> HttpResponse:
    """The counted tests at the letter's premises; a certificate is made when asked for."""
    letter = _letter(token)
    language = page_language(request.GET.get("lang", ""), letter=letter)
    tests = _tests(letter)
    if request.method == "POST":
        return _made(request, letter, token=token, language=language, tests=tests)
    made = certificates_of(tests)
    page = owner_certificates(
        [_row(test, made=made.get(test.pk, []), language=language) for test in tests],
        words=words_in(language),
        language=language,
    )
    context = {
        "page": page,
        "office": sender_of(letter.program),
        "token": token,
        "language": language,
        "other": OTHER[language],
        "referrer": "same-origin",
    }
    response = render(request, "reports/certificates/owner.html", context)
    # Without a referrer a browser sends no origin either, and the form would be refused.
    response["Referrer-Policy"] = "same-origin"
    return _private(response)


@never_cache
@require_safe
def owner_pdf(_request: HttpRequest, token: str, pk: int) -> HttpResponse:
    """A certificate's bytes, for the owner of the letter's premises."""
    mine = [test.pk for test in _tests(_letter(token))]
    return _private(kept_pdf(Certificate.objects.filter(pk=pk, field_test__in=mine).first()))


def _made(
    request: HttpRequest, letter: Letter, *, token: str, language: str, tests: list[FieldTest]
) -> HttpResponse:
    chosen = request.POST.get("test", "")
    mine = {str(test.pk): test for test in tests}
    if chosen not in mine:
        raise Http404("No such test at the premises of this letter.")
    at = recording_moment(program=letter.program, as_of=today_of(letter), now=timezone.now())
    try:
        made = make_certificate(
            test_id=mine[chosen].pk, language=language, hand=Hand(by="owner's page", at=at)
        )
    except NoCertificateError as refusal:
        raise Http404(refusal.message) from refusal
    response = HttpResponseRedirect(reverse("owner-certificate", args=[token, made.pk]), status=303)
    return _private(response)


def _letter(token: str) -> Letter:
    letter = letter_by_token(token)
    if letter is None:
        raise Http404("No letter has this link.")
    return letter


def _tests(letter: Letter) -> list[FieldTest]:
    return certified_at(premises_of_letter(letter, today=today_of(letter)))


def _row(test: FieldTest, *, made: list[Certificate], language: str) -> CountedTest:
    assembly = test.assembly
    mine = [one.pk for one in made if one.language == language]
    return CountedTest(
        test_id=test.pk,
        certificate_id=mine[0] if mine else None,
        on=test.tested_on,
        passed=test.outcome == Outcome.PASS,
        serial=assembly.serial if assembly else test.serial,
        type=assembly.type if assembly else "",
        place=str(assembly.premises) if assembly else "",
    )


def _private(response: HttpResponse) -> HttpResponse:
    """Keep the secret link out of referrers, caches and search engines."""
    response.setdefault("Referrer-Policy", "no-referrer")
    response["X-Robots-Tag"] = "noindex, nofollow"
    response["Cache-Control"] = "no-store, private"
    return response
