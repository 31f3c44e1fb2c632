"""An e-mail to who reads Spanish is Spanish: its subject, its text, its page and its attachment."""

from __future__ import annotations

import re
from email.message import EmailMessage
from html import unescape
from io import BytesIO

import pytest
from pypdf import PdfReader

from notices.delivery.messages import message_of
from notices.domain.languages import LanguageWay
from notices.models import Delivery
from registry.models import Party
from tests.notices.delivery.posts import (
    NOON,
    free_port,
    mailing_office,
    overdue_owner,
    run_first_day,
    set_up,
)

pytestmark = [pytest.mark.django_db, pytest.mark.database]

ENGLISH = re.compile(
    r"\b(the|your|you|notice|overdue|what|assembly|tester|page|letter|and|was|serial|by|of|to)\b"
)
"""Words that no Spanish sentence holds; names and addresses of the sample hold none of them."""


def mail_to(*, language: str, way: LanguageWay) -> EmailMessage:
    program = mailing_office(letterhead={"name": "Tamarack Flats", "language_way": way.value})
    party = overdue_owner(program)
    Party.objects.filter(pk=party.pk).update(language=language)
    with set_up(free_port()):
        run_first_day(program)
        return message_of(Delivery.objects.get(channel="e-mail"), at=NOON)


def said_by(message: EmailMessage) -> dict[str, str]:
    text, page = message.get_body(("plain",)), message.get_body(("html",))
    assert text is not None
    assert page is not None
    shown = re.sub(r"<[^>]+>", " ", unescape(page.get_content().partition("<body")[2]))
    (attached,) = message.iter_attachments()
    pages = PdfReader(BytesIO(attached.get_content())).pages
    return {
        "subject": message["Subject"],
        "text": text.get_content(),
        "page": shown.partition(">")[2],
        "letter": "\n".join(one.extract_text() for one in pages),
    }


def test_to_who_reads_spanish_every_part_is_spanish() -> None:
    message = mail_to(language="es", way=LanguageWay.OWN)
    said = said_by(message)
    assert said["subject"].startswith("Primer aviso")
    for part in ("text", "page"):
        whole = " ".join(said[part].split())
        for words in ("Qué hacer", "Si no está de acuerdo", "La carta va adjunta", "?lang=es"):
            assert words in whole, part
    page = message.get_body(("html",))
    assert page is not None
    assert '<html lang="es">' in page.get_content()
    assert "Qué hacer" in said["letter"]


def test_but_for_the_headline_in_english_no_english_is_left_in_it() -> None:
    message = mail_to(language="es", way=LanguageWay.OWN)
    content = Delivery.objects.select_related("letter").get(channel="e-mail").letter.content
    said = said_by(message)
    assert ENGLISH.findall(said["subject"].lower()) == []
    for part in ("text", "page"):
        whole = " ".join(said[part].split())
        for known in (content["second_headline"], "Cross-connection control"):
            whole = whole.replace(" ".join(known.split()), " ")
        whole = re.sub(r"https?://\S+|\([^)]*\d[^)]*\)|\S+@\S+", " ", whole)  # links, citations
        assert ENGLISH.findall(whole.lower()) == [], part


def test_to_who_reads_english_the_same_office_writes_english() -> None:
    said = said_by(mail_to(language="en", way=LanguageWay.OWN))
    assert said["subject"].startswith("First overdue notice")
    assert "What to do" in said["text"]
    assert "Qué hacer" not in said["text"] + said["page"]
