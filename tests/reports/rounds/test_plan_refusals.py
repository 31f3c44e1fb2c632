"""What `plan_rounds` refuses, and what it says to people."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from reports.models import Plan
from tests.reports.rounds.office import Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    return Office()


@pytest.mark.parametrize(
    "wrong",
    [
        ("--program", "nobody"),
        ("--days", "0"),
        ("--days", "93"),
        ("--days", "two"),
        ("--from", "30/11/2026"),
        ("--seed", "-1"),
        ("--seconds", "0"),
        ("--seconds", "nan"),
        ("--iterations", "0"),
        ("--seconds", "5", "--iterations", "5"),
    ],
)
def test_wrong_arguments_do_nothing_and_say_why(office: Office, wrong: tuple[str, ...]) -> None:
    given = {"--program": "flats", "--from": "2026-11-30", "--days": "1"}
    extra = dict(zip(wrong[::2], wrong[1::2], strict=True))
    words = [word for pair in {**given, **extra}.items() for word in pair]
    # Arguments that do not parse are CommandErrors in this process; the contract's tests see
    # the exit code 2 that the console makes of them.
    with pytest.raises((CommandError, SystemExit)) as ended:
        call_command("plan_rounds", *words, "--json", stdout=StringIO(), stderr=StringIO())
    assert getattr(ended.value, "code", 2) == 2
    assert not Plan.objects.exists()
