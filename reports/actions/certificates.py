"""Makes a certificate once a test and language, and keeps its bytes."""

from __future__ import annotations

from django.conf import settings
from django.db import IntegrityError, transaction

from notices.catalogues import words_in
from notices.domain.codes import token_digest
from notices.queries.briefs import sender_of
from registry.changes import Hand
from registry.models import Program
from reports.domain.certificates import LANGUAGES, Tested, certificate_content
from reports.domain.genuine_page import on_paper
from reports.models import Certificate, FieldTest
from reports.queries.certificates import (
    certifiable,
    core_of,
    number_of,
    token_for,
    what_was_tested,
    with_all_it_says,
)
from reports.rendering.certificates import render_certificate
from reports.rendering.sheets import RenderedSheet, SheetHead


class NoCertificateError(Exception):
    """No certificate can be made; the message says why and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


def make_certificate(*, test_id: int, language: str, hand: Hand) -> Certificate:
    """The certificate of a test in a language, made now if it never was.

    Raises NoCertificateError for a test that does not count, or has no outcome.
    """
    if language not in LANGUAGES:
        language = "en"
    tests = certifiable(FieldTest.objects.filter(pk=test_id))
    test = with_all_it_says(tests).first()
    if test is None:
        raise NoCertificateError(
            "A certificate is made on a test that counts and passed or failed. This one does not."
        )
    mine = Certificate.objects.filter(
        field_test=test_id, language=language, core_sha256=core_of(test)
    )
    kept = mine.first()
    if kept is not None:
        return kept
    if test.fact is not None and test.fact.withdrawn_at is not None:
        raise NoCertificateError("What this test said was withdrawn: no certificate is made.")
    token = token_for(test, language=language, key=settings.LINK_KEY)
    tested = what_was_tested(test)
    drawn = _drawn(tested, program=test.program, language=language, token=token)
    try:
        with transaction.atomic():
            return Certificate.objects.create(
                program=test.program,
                field_test=test,
                language=language,
                number=number_of(test),
                token_hash=token_digest(token),
                core_sha256=core_of(test),
                on_paper=on_paper(tested).plain(),
                pdf=drawn.pdf,
                sha256=drawn.sha256,
                pages=drawn.pages,
                made_at=hand.at,
                made_by=hand.by,
            )
    except IntegrityError:
        # Somebody made it meanwhile: theirs was first, and is the one that is kept.
        return mine.get()


def _drawn(tested: Tested, *, program: Program, language: str, token: str) -> RenderedSheet:
    content = certificate_content(tested, words=words_in(language), language=language)
    office = sender_of(program)
    head = SheetHead(
        name=office.name,
        line=office.line,
        contact=tuple(line for line in (office.phone, office.email) if line),
        title=content.title,
        foot=content.foot,
        page_words=content.page_words,
        language=language,
    )
    address = f"{settings.BASE_URL}/c/{token}"
    return render_certificate(
        content, head=head, link=address, shown_link=address.partition("://")[2]
    )
