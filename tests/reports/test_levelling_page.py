"""The page of levelling: a proposal seen, applied as seen, and undone."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry.domain.kinds import Role
from registry.models import Membership
from scheduling.models import LevelDecision, Obligation, ProgramClock
from tests.notices.offices import happened, office
from tests.scheduling.test_levelling import TODAY, heap

pytestmark = pytest.mark.django_db

ASKED = {"number": "2", "per": "week", "first": "2026-01-05", "last": "2027-01-04"}


@pytest.fixture
def there(client: Client) -> Client:
    program = office()
    ProgramClock.objects.update_or_create(program=program, defaults={"last_run_on": TODAY})
    heap(program, 6)
    user = get_user_model().objects.create_user("maren")
    Membership.objects.create(user_id=user.pk, role=Role.ADMINISTRATOR, program=program)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def seen(client: Client) -> dict[str, Any]:
    page = client.get("/p/flats/levelling/", ASKED).content.decode()
    found = re.search(r'name="seen" value="(\w+)"', page)
    assert found is not None
    return {**ASKED, "seen": found[1]}


def test_the_page_shows_before_after_and_what_moves(there: Client) -> None:
    page = there.get("/p/flats/levelling/", ASKED).content.decode()
    assert "6&nbsp;tests" in page or "6\N{NO-BREAK SPACE}tests" in page
    assert "6 in the fullest week" in page  # before
    assert "2 in the fullest week" in page  # after
    assert "2 a week" in page
    assert page.count("/assemblies/") >= 4
    assert "courtesy letters only" in page


def test_what_was_seen_is_applied_and_undone(there: Client) -> None:
    there.post("/p/flats/levelling/apply/", seen(there))
    decision = LevelDecision.objects.get()
    assert decision.made_by == "maren"
    assert Obligation.objects.filter(target_on__isnull=True).count() == 0
    there.post(f"/p/flats/levelling/{decision.pk}/undo/")
    assert Obligation.objects.filter(target_on__isnull=False).count() == 0
    page = there.get("/p/flats/levelling/").content.decode()
    assert "undone" in page


def test_another_proposal_than_the_one_seen_is_shown_first(there: Client) -> None:
    told = seen(there)
    one = Obligation.objects.order_by("pk")[0].assembly
    happened(one, [("passed", date(2026, 1, 5))], as_of=TODAY)
    answer = there.post("/p/flats/levelling/apply/", told, follow=True)
    assert "The registry has changed since" in answer.content.decode()
    assert LevelDecision.objects.count() == 0


def test_what_does_not_fit_is_told_and_cannot_be_applied(there: Client) -> None:
    asked = {**ASKED, "number": "1", "first": "2026-06-20"}
    page = there.get("/p/flats/levelling/", asked).content.decode()
    assert "It does not fit into 1 a week." in page
    assert 'name="seen"' not in page


def test_a_stretch_that_runs_backwards_is_refused_beside_its_field(there: Client) -> None:
    page = there.get("/p/flats/levelling/", {**ASKED, "last": "2025-01-01"}).content.decode()
    assert "2025-01-01 lies before 2026-01-05." in page
