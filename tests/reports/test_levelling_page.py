"""The page of levelling: a proposal seen, applied as seen, and undone."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry.domain.kinds import Role
from registry.models import Membership, Program
from reports.views import level_run
from scheduling import background
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


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The solver answers within the request: a thread would not see what a test wrote."""
    monkeypatch.setattr(background, "begin", lambda work, wait_seconds: work())


WHERE = "/p/flats/levelling/"


def proposed(client: Client, **changed: str) -> tuple[str, str]:
    """The page of the proposal, and the token under which it is kept."""
    answer = client.post(WHERE, {**ASKED, **changed})
    assert answer.status_code == 302, answer.content.decode()
    where = answer["Location"]
    return client.get(where).content.decode(), where.rpartition("=")[2]


def test_the_page_shows_before_after_and_what_moves(there: Client) -> None:
    page, token = proposed(there)
    assert "6&nbsp;tests" in page or "6\N{NO-BREAK SPACE}tests" in page
    assert "6 in the fullest week" in page  # before
    assert "2 in the fullest week" in page  # after
    assert "2 a week" in page
    assert page.count("/assemblies/") >= 4
    assert "courtesy letters only" in page
    sheet = there.get(WHERE, {"run": token, "as": "csv"}).content.decode().splitlines()
    assert (sheet[0], len(sheet)) == ("serial,premises,opens_on,due_on,target_on,moved", 7)


def test_asking_by_address_alone_solves_nothing(there: Client) -> None:
    page = there.get(WHERE, ASKED).content.decode()
    assert "What moves" not in page


def test_what_was_seen_is_applied_and_undone(there: Client) -> None:
    _, token = proposed(there)
    there.post(f"{WHERE}apply/", {"run": token})
    decision = LevelDecision.objects.get()
    assert decision.made_by == "maren"
    assert Obligation.objects.filter(target_on__isnull=True).count() == 0
    there.post(f"{WHERE}{decision.pk}/undo/")
    assert Obligation.objects.filter(target_on__isnull=False).count() == 0
    page = there.get(WHERE).content.decode()
    assert "undone" in page


def test_a_proposal_of_a_registry_that_changed_since_is_not_applied(there: Client) -> None:
    _, token = proposed(there)
    one = Obligation.objects.order_by("pk")[0].its_assembly
    happened(one, [("passed", date(2026, 1, 5))], as_of=TODAY)
    answer = there.post(f"{WHERE}apply/", {"run": token}, follow=True)
    assert "The registry has changed since" in answer.content.decode()
    assert LevelDecision.objects.count() == 0


def test_a_proposal_of_somebody_else_is_not_there(there: Client, client: Client) -> None:
    _, token = proposed(there)
    user = get_user_model().objects.create_user("odile")
    Membership.objects.create(
        user_id=user.pk, role=Role.ADMINISTRATOR, program=Program.objects.get()
    )
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    client.post(f"{WHERE}apply/", {"run": token})
    assert LevelDecision.objects.count() == 0
    assert "What moves" not in client.get(WHERE, {"run": token}).content.decode()


def test_while_the_solver_works_the_page_says_since_when(
    there: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(background, "begin", lambda work, wait_seconds: None)
    page, token = proposed(there)
    assert "The solver has been at work for" in page
    assert f'name="run" value="{token}"' in page
    monkeypatch.setattr(level_run, "LONGEST", timedelta(0))
    page = there.get(WHERE, {"run": token}).content.decode()
    assert "The solver has not answered" in page


def test_a_solver_that_stops_is_told(there: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def stops(**_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(level_run, "level", stops)
    page, _ = proposed(there)
    assert "The solver stopped." in page


def test_what_does_not_fit_is_told_and_cannot_be_applied(there: Client) -> None:
    page, token = proposed(there, number="1", first="2026-06-20")
    assert "It does not fit into 1 a week." in page
    assert "Set these targets" not in page
    there.post(f"{WHERE}apply/", {"run": token})
    assert LevelDecision.objects.count() == 0


def test_a_stretch_that_runs_backwards_is_refused_beside_its_field(there: Client) -> None:
    page = there.post(WHERE, {**ASKED, "last": "2025-01-01"}).content.decode()
    assert "2025-01-01 lies before 2026-01-05." in page
