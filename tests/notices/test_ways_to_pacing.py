"""The pages that pace letters are reached by links, not by address alone."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests.access.addresses import address
from tests.access.cast import made_cast
from tests.access.test_matrix import BACKEND

pytestmark = pytest.mark.django_db


def test_letters_and_a_premises_lead_to_what_paces_them(client: Client) -> None:
    cast = made_cast()
    person = cast.people["administrator"]
    assert person is not None
    client.force_login(person, backend=BACKEND)  # type: ignore[arg-type]
    home = cast.home
    letters = client.get(address("letters", home)).content.decode()
    for name in ("letters-waiting", "letters-pace"):
        where = reverse(name, args=[home.program.code])
        assert f'href="{where}"' in letters
        assert client.get(where).status_code == 200
    party = home.party
    gathering = reverse("letter-gathering", args=[home.program.code, party.pk])
    assert f'href="{gathering}"' in client.get(address("premises", home)).content.decode()
    assert client.get(gathering).status_code == 200
