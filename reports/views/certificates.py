"""Certificates: made and fetched at a desk, and the public page that says whether one holds."""

from __future__ import annotations

import hashlib

from django.contrib import messages
from django.core.cache import cache
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from notices.catalogues import SECOND_LANGUAGES, words_in
from notices.queries.briefs import sender_of
from registry.access import Verb, firms_of, visible_assemblies
from reports.actions.certificates import NoCertificateError, make_certificate
from reports.domain.genuine_page import OnPaper, genuine_page, unknown_page
from reports.models import Certificate, FieldTest
from reports.queries.certificates import (
    certifiable,
    certificate_by_token,
    standing_of,
)
from scheduling.views.desk import EVERY_SEAT, Desk, Seat, at_desk

MOST_MISSES = 30
REST_SECONDS = 3600
OTHER = {"en": ("es", "Espa\u00f1ol"), "es": ("en", "English")}


def certified_tests(desk: Desk) -> QuerySet[FieldTest]:
    """Tests of this program a person may have a certificate of: a company's own, an owner's."""
    found = certifiable(FieldTest.objects.filter(program=desk.program))
    if desk.seat is Seat.OFFICE:
        return found
    if desk.seat is Seat.FIRM:
        return found.filter(tester__firm__in=firms_of(desk.person))
    return found.filter(assembly__in=visible_assemblies(desk.person))


@require_POST
@at_desk(seats=EVERY_SEAT)
def certificate_make(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Make the certificate of a test, once, and lead to it."""
    if desk.seat is Seat.OFFICE and Verb.EDIT not in desk.verbs:
        raise PermissionDenied
    test = FieldTest.objects.filter(program=desk.program, pk=pk).only("pk", "assembly_id").first()
    may = certified_tests(desk).filter(pk=pk).exists()
    if test is None or not (may or desk.seat is Seat.OFFICE):
        raise Http404("No such field test.")
    try:
        made = make_certificate(
            test_id=pk, language=request.POST.get("language", "en"), hand=desk.hand()
        )
    except NoCertificateError as refusal:
        messages.error(request, refusal.message)
        return redirect("field-test", code=desk.program.code, pk=pk)
    return redirect("certificate-pdf", code=desk.program.code, pk=made.pk)


@require_GET
@at_desk(seats=EVERY_SEAT)
def certificate_pdf(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The bytes as they were kept; never drawn again."""
    kept = Certificate.objects.filter(pk=pk, field_test__in=certified_tests(desk).values("pk"))
    if desk.seat is Seat.OFFICE:
        # The office also keeps the certificate of a test that no longer counts.
        kept = Certificate.objects.filter(pk=pk, program=desk.program)
    return kept_pdf(kept.first())


def kept_pdf(certificate: Certificate | None) -> HttpResponse:
    """A certificate's bytes as an answer; Http404 where there is none."""
    if certificate is None:
        raise Http404("No such certificate.")
    response = HttpResponse(bytes(certificate.pdf), content_type="application/pdf")
    name = f"certificate-{certificate.number}-{certificate.language}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Cache-Control"] = "private, max-age=0"
    response["X-Content-Type-Options"] = "nosniff"
    return response


@never_cache
@require_safe
def genuine(request: HttpRequest, token: str) -> HttpResponse:
    """Say whether a certificate is ours and still the latest. Looking changes nothing."""
    found = certificate_by_token(token[:100])
    language = _language(request, found)
    words = words_in(language)
    context: dict[str, object] = {"language": language, "other": OTHER[language]}
    context["referrer"] = "no-referrer"
    if found is None:
        resting = _misses(request) > MOST_MISSES
        context["page"] = unknown_page(words=words, is_resting=resting)
        template, status = "reports/certificates/unknown.html", 429 if resting else 404
    else:
        standing = standing_of(found)
        context["office"] = sender_of(found.program)
        context["page"] = genuine_page(
            OnPaper.read(found.on_paper),
            genuine=standing.genuine,
            later_on=standing.later_on,
            sha256=found.sha256,
            words=words,
            language=language,
        )
        template, status = "reports/certificates/genuine.html", 200
    response = render(request, template, context, status=status)
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow"
    response["Cache-Control"] = "no-store, private"
    return response


def _language(request: HttpRequest, found: Certificate | None) -> str:
    wanted = request.GET.get("lang", "")
    if wanted in OTHER:
        return wanted
    return found.language if found and found.language in SECOND_LANGUAGES else "en"


def _misses(request: HttpRequest) -> int:
    """Count one wrong code of this address within the hour; a right one is never held back.

    The address itself is not kept, only a digest of it, in the process's own memory.
    """
    told = request.META.get("REMOTE_ADDR", "")
    key = "wrong-codes-" + hashlib.sha256(told.encode()).hexdigest()[:32]
    if cache.add(key, 1, timeout=REST_SECONDS):
        return 1
    try:
        return int(cache.incr(key))
    except ValueError:  # it ran out between the two
        cache.set(key, 1, timeout=REST_SECONDS)
        return 1
