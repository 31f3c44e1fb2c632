"""Every address for every role against a file; and nobody reaches another program's rows."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.access.addresses import (
    SHOWS,
    address,
    is_of_a_program,
    names_of_patterns,
    rows_of_matrix,
)
from tests.access.cast import ROLES, Cast, made_cast

BACKEND = "django.contrib.auth.backends.ModelBackend"
UNNAMED = {"unnamed o"}  # the short code's address without its slash


@pytest.fixture
def cast(db: None) -> Cast:
    return made_cast()


def client_of(cast: Cast, role: str) -> Client:
    client = Client()
    person = cast.people[role]
    if person is not None:
        client.force_login(person, backend=BACKEND)  # type: ignore[arg-type]
    return client


def test_the_file_names_every_address() -> None:
    named = {name for name, _, _ in rows_of_matrix()}
    assert names_of_patterns() - UNNAMED == named


@pytest.mark.parametrize("role", ROLES)
def test_each_role_gets_what_the_file_says(cast: Cast, role: str) -> None:
    wrong = []
    for name, method, expected in rows_of_matrix():
        client = client_of(cast, role)
        where = address(name, cast.home)
        answer = client.get(where) if method == "GET" else client.post(where, {"name": name})
        if answer.status_code != expected[role]:
            wrong.append(f"{method} {where}: {answer.status_code}, not {expected[role]}")
    assert wrong == []


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_rows_of_another_program_are_not_there(cast: Cast, method: str) -> None:
    client = client_of(cast, "administrator")
    found = []
    for name, told, expected in rows_of_matrix():
        if name not in SHOWS or told != method or expected["administrator"] == 405:
            continue
        where = address(name, cast.home, rows_of=cast.other)
        answer = client.get(where) if method == "GET" else client.post(where, {"answer": "x"})
        if answer.status_code != 404:
            found.append(f"{where}: {answer.status_code}")
    assert found == []


def test_another_program_itself_is_not_there(cast: Cast) -> None:
    client = client_of(cast, "administrator")
    found = [
        address(name, cast.other)
        for name, method, expected in rows_of_matrix()
        if method == "GET" and is_of_a_program(name) and expected["administrator"] != 405
        if client.get(address(name, cast.other)).status_code != 404
    ]
    assert found == []


def test_letters_of_another_program_are_not_released_by_their_number(cast: Cast) -> None:
    client = client_of(cast, "administrator")
    client.post(address("letters-release", cast.home), {"letter": [cast.other.ids["letter"]]})
    from notices.models import Letter

    assert Letter.objects.get(pk=cast.other.ids["letter"]).state == "composed"


def test_a_testing_company_sees_no_letters_owners_or_notes(cast: Cast) -> None:
    client = client_of(cast, "tester")
    for name in ("assembly", "premises", "registry"):
        page = client.get(address(name, cast.home)).content.decode()
        assert "Larch Court" not in page
        assert "first-overdue" not in page.lower()
