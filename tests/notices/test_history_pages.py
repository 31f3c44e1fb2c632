"""The page that brings an office's past along: looked at first, then brought in."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from notices.models import Notice
from scheduling.models import Fact
from tests.access.addresses import address
from tests.access.cast import Cast, made_cast
from tests.access.test_matrix import BACKEND

LINES = "Serial,What,Date,Letter\nA100,passed,2025-03-01,\nA100,letter,2025-04-02,past due\nZ,x,,\n"


@pytest.fixture
def cast(db: None, client: Client) -> Cast:
    made = made_cast()
    client.force_login(made.people["clerk"], backend=BACKEND)  # type: ignore[arg-type]
    return made


def test_a_file_is_looked_at_before_it_is_brought_in(client: Client, cast: Cast) -> None:
    where = address("load-history", cast.home)
    before = Fact.objects.count()
    page = client.post(where, {"file": SimpleUploadedFile("past.csv", LINES.encode())})
    assert page.status_code == 200
    text = page.content.decode()
    assert "nothing is stored yet" in text
    assert "fits no obligation" in text  # the pass of March 2025 closed what was overdue
    assert Fact.objects.count() == before
    token = page.context["upload"].token
    done = client.post(where, {"token": token}, follow=True).content.decode()
    assert "1 tests, 0 letters" in done
    assert Fact.objects.count() == before + 1
    assert not Notice.objects.filter(is_brought_along=True).exists()


def test_a_file_that_is_no_longer_kept_is_asked_for_again(client: Client, cast: Cast) -> None:
    page = client.post(address("load-history", cast.home), {"token": "x" * 32})
    assert page.status_code == 422
    assert "Choose it again" in page.content.decode()


def test_the_preview_page_names_the_rung_and_the_why(client: Client, cast: Cast) -> None:
    page = client.get(address("letters-preview", cast.home), {"on": "2026-12-20"})
    text = page.content.decode()
    assert "December\N{NO-BREAK SPACE}20, 2026" in text
    assert "Nothing is written by looking" in text
