"""The page of a customer file: compared by upload, accepted or refused singly or by kind."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from registry.models import Party, Premises, Proposal
from tests.access.addresses import address
from tests.access.cast import Cast, Office, made_cast
from tests.access.test_matrix import BACKEND
from tests.scheduling.loading.spreadsheets import sheet

CELLS = {
    "Account": "1-1",
    "Service Address": "77 Weir Ln",
    "City": "Tamarack Flats",
    "Use": "Dental clinic",
    "Owner Name": "Larch Court",
    "E-mail": "larch@example.org",
}


@pytest.fixture
def cast(db: None, client: Client) -> Cast:
    made = made_cast()
    client.force_login(made.people["clerk"], backend=BACKEND)  # type: ignore[arg-type]
    return made


def compared(client: Client, office: Office, **changes: str) -> str:
    named = {name.replace("_", " "): value for name, value in changes.items()}
    file = SimpleUploadedFile("billing.csv", sheet(CELLS | named))
    page = client.post(address("proposals-load", office), {"file": file}, follow=True)
    return page.content.decode()


def test_an_uploaded_file_is_compared_and_today_says_that_it_waits(
    client: Client, cast: Cast
) -> None:
    page = compared(client, cast.home)
    assert "2 proposed" in page
    assert "larch@example.org" in page
    assert Party.objects.get(pk=cast.home.party.pk).email == ""
    today = client.get(address("today", cast.home)).content.decode()
    assert "1 changed contact, 1 changed use" in today


def test_one_is_accepted_and_another_refused(client: Client, cast: Cast) -> None:
    compared(client, cast.home)
    contact, use = (Proposal.objects.get(kind=f"changed {what}") for what in ("contact", "use"))
    settle = address("proposals-settle", cast.home)
    client.post(settle, {"act": "accept", "proposal": contact.pk})
    page = client.post(settle, {"act": "refuse", "proposal": use.pk, "reason": "no"}, follow=True)
    assert "not proposed again" in page.content.decode()
    assert Party.objects.get(pk=cast.home.party.pk).email == "larch@example.org"
    assert Premises.objects.get(pk=cast.home.ids["premises"]).use == ""
    use.refresh_from_db()
    assert (use.settled_how, use.reason) == ("refused", "no")
    assert "0 proposed" in compared(client, cast.home)


def test_all_of_one_kind_are_accepted_at_once(client: Client, cast: Cast) -> None:
    compared(client, cast.home)
    client.post(address("proposals-settle", cast.home), {"act": "accept", "kind": "changed use"})
    assert Premises.objects.get(pk=cast.home.ids["premises"]).use == "Dental clinic"
    assert [one.kind for one in Proposal.objects.filter(settled_at=None)] == ["changed contact"]


@pytest.mark.parametrize("posted", [{}, {"act": "accept"}, {"act": "sing", "proposal": "1"}])
def test_a_form_without_a_choice_changes_nothing(
    client: Client, cast: Cast, posted: dict[str, str]
) -> None:
    compared(client, cast.home)
    client.post(address("proposals-settle", cast.home), posted)
    assert Proposal.objects.filter(settled_at=None).count() == 2


def test_proposals_of_another_program_are_not_reached(client: Client, cast: Cast) -> None:
    compared(client, cast.home)
    other = Client()
    other.force_login(cast.people["stranger"], backend=BACKEND)  # type: ignore[arg-type]
    ids = list(Proposal.objects.values_list("pk", flat=True))
    other.post(address("proposals-settle", cast.other), {"act": "accept", "proposal": ids})
    assert Proposal.objects.filter(settled_at=None).count() == 2


def test_text_of_a_file_is_shown_as_text(client: Client, cast: Cast) -> None:
    page = compared(client, cast.home, Owner_Name="<script>alert(1)</script>")
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in page
