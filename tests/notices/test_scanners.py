"""Mail scanners and browsers that fetch ahead open every link of a letter; nothing changes."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from notices.links import token_of
from notices.models import Letter, MailStop, OwnerWords
from registry.models import Question
from scheduling.models import Obligation
from tests.notices.delivery.posts import (
    Sink,
    mail_server,
    mailing_office,
    overdue_owner,
    run_first_day,
    send,
)
from tests.notices.offices import START, happened

pytestmark = pytest.mark.django_db

OURS = ("registry", "scheduling", "notices", "reports")
AHEAD: dict[str, dict[str, str]] = {
    "plain": {},
    # https://fetch.spec.whatwg.org, 2.2.8 and the header that came before it
    "prefetch": {"Sec-Purpose": "prefetch"},
    "prerender": {"Sec-Purpose": "prefetch;prerender"},
    "older": {"Purpose": "prefetch", "X-Moz": "prefetch"},
    "preview": {"X-Purpose": "preview", "User-Agent": "link scanner"},
    "script": {"X-Requested-With": "XMLHttpRequest", "HX-Request": "true", "HX-Boosted": "true"},
}


def everything() -> dict[str, list[str]]:
    """Every row of every table of ours, as text."""
    encoder = DjangoJSONEncoder(sort_keys=True, default=None)
    models = [one for label in OURS for one in apps.get_app_config(label).get_models()]
    return {
        one._meta.label: [_text(row, encoder) for row in one._base_manager.order_by("pk").values()]
        for one in models
    }


def _text(row: dict[str, Any], encoder: DjangoJSONEncoder) -> str:
    plain = {k: bytes(v).hex() if isinstance(v, bytes | memoryview) else v for k, v in row.items()}
    return encoder.encode(plain)


@pytest.fixture
def links() -> list[str]:
    """Every link of a reminder and of a lawful notice that left, and what a page of theirs says."""
    sink = Sink()
    with mail_server(sink):
        program = mailing_office(languages="en,es")
        overdue_owner(program, 1)
        party = overdue_owner(program, 2)
        soon = Obligation.objects.get(assembly__premises__parties=party).assembly
        assert soon is not None
        happened(soon, (("passed", START.replace(year=2025, month=1, day=25)),), as_of=START)
        run_first_day(program)
        send(program)
    assert len(sink.taken) == 2
    found: set[str] = set()
    for message in sink.taken:
        for part in ("plain", "html"):
            body = message.get_body((part,))
            assert body is not None
            found |= set(re.findall(r"https?://[^/\s\"<>]+(/o/[^\s\"<>]*)", body.get_content()))
        found |= set(re.findall(r"(/o/[^>]+)", str(message["List-Unsubscribe"] or "")))
    for letter in Letter.objects.all():
        found.add(f"/o/{token_of(program_code='flats', number=letter.number)}")
    return sorted({*found, "/o/"})


@pytest.mark.parametrize("headers", AHEAD.values(), ids=AHEAD)
def test_twenty_looks_at_every_link_leave_every_row_as_it_was(
    links: list[str], headers: dict[str, str]
) -> None:
    looks = 3 if headers else 20
    assert len(links) >= 4
    before = everything()
    client, told = Client(headers=headers), Client(headers=headers, enforce_csrf_checks=True)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        for link in links:
            for _ in range(looks):
                assert client.get(link).status_code == 200
            for _ in range(looks):
                answer = client.head(link)
                assert (answer.status_code, answer.content) == (200, b"")
            client.options(link)
            client.get(link, {"said": "taken", "lang": "es", "kind": "gone", "words": "x"})
            told.put(link)
            told.delete(link)
    written = [
        q["sql"] for q in queries if re.match(r"\s*(INSERT|UPDATE|DELETE)", q["sql"], re.IGNORECASE)
    ]
    assert written == []
    assert everything() == before


def test_only_a_post_acts_and_a_look_at_where_words_are_sent_is_refused(links: list[str]) -> None:
    page = next(link for link in links if link.count("/") == 2 and link != "/o/").partition("?")[0]
    before = everything()
    assert Client().get(f"{page}/say").status_code == 405
    assert Client().head(f"{page}/say").status_code == 405
    assert everything() == before
    assert not MailStop.objects.exists()
    assert not OwnerWords.objects.exists()
    assert not Question.objects.filter(settled_at__isnull=True).exists()
