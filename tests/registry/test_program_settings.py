"""How a program is shown and set up from the command line."""

import json
from datetime import UTC, datetime
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from registry.access import Verb, may
from registry.models import Change, Program

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def program() -> Program:
    return Program.objects.create(
        code="alder", name="alder", created_at=datetime(2026, 11, 25, tzinfo=UTC)
    )


def ask(*arguments: str) -> dict[str, Any]:
    out = StringIO()
    call_command("program_settings", "--program", "alder", "--json", *arguments, stdout=out)
    said: dict[str, Any] = json.loads(out.getvalue())
    return said


def refused(*arguments: str) -> str:
    out = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("program_settings", "--program", "alder", "--json", *arguments,
                     stdout=out, stderr=StringIO())  # fmt: skip
    assert ended.value.code == 2
    return str(json.loads(out.getvalue())["error"])


def test_what_is_set_is_shown() -> None:
    said = ask(
        "--name", "Alder Water", "--zone", "America/Denver", "--state", "co",
        "--letterhead-name", "Alder Water District", "--letterhead-line",
        "Cross-connection control", "--letterhead-line", "1 Headgate Road",
        "--phone", "555-0142", "--email", "x@Alder.example",
        "--hours", "8 to 4", "--go-live", "2027-01-04", "--letters-a-day", "40", "--live",
        "--date-order", "day first",
    )  # fmt: skip
    assert said == ask()
    assert (said["zone"], said["state"], said["go_live_on"]) == (
        "America/Denver", "CO", "2027-01-04",
    )  # fmt: skip
    assert (said["letters_a_day"], said["is_trial"]) == (40, False)
    assert said["letterhead"]["lines"] == ["Cross-connection control", "1 Headgate Road"]
    assert said["letterhead"]["email"] == "x@alder.example"
    assert said["date_order"] == "day first"


def test_what_is_not_named_stays() -> None:
    ask("--phone", "555-0142", "--letters-a-day", "40")
    said = ask("--hours", "8 to 4", "--letters-a-day", "none")
    assert said["letterhead"]["phone"] == "555-0142"
    assert said["letters_a_day"] is None


def test_a_change_leaves_one_change_row_and_showing_leaves_none() -> None:
    ask("--name", "Alder Water")
    ask("--name", "Alder Water")
    ask()
    change = Change.objects.get()
    assert (change.before, change.after) == ({"name": "alder"}, {"name": "Alder Water"})


@pytest.mark.parametrize(
    "arguments",
    [("--zone", "Mars/Olympus"), ("--state", "ZZ"), ("--letters-a-day", "0"), ("--name", " "),
     ("--email", "nobody"), ("--name", "X", "--administrator", "no blanks please")],
)  # fmt: skip
def test_what_cannot_be_is_refused_and_nothing_is_set(arguments: tuple[str, ...]) -> None:
    before = ask()
    assert refused(*arguments)
    assert ask() == before
    assert not User.objects.exists()


@pytest.mark.parametrize(
    "arguments", [("--go-live", "soon"), ("--letters-a-day", "many"), ("--trial", "--live")]
)
def test_arguments_that_make_no_sense_are_refused(arguments: tuple[str, ...]) -> None:
    with pytest.raises(CommandError):
        ask(*arguments)


def knows(username: str, password: str) -> bool:
    return User.objects.get(username=username).check_password(password)


def test_the_first_administrator_gets_a_password_shown_once() -> None:
    said = ask("--administrator", "orsolya")
    assert knows("orsolya", said["password"])
    user = User.objects.get()
    assert may(user, Verb.SET_UP, program=Program.objects.get())
    again = ask("--administrator", "orsolya")
    assert again["password"] is None
    assert again["administrators"] == ["orsolya"]
    assert knows("orsolya", said["password"])


def test_a_password_may_come_from_outside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", StringIO("tall-larkspur-42\n"))
    assert ask("--administrator", "bea", "--password-stdin")["password"] is None
    assert knows("bea", "tall-larkspur-42")


def test_a_password_the_rules_refuse_makes_no_login(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", StringIO("1234\n"))
    assert refused("--administrator", "bea", "--password-stdin")
    assert not User.objects.exists()


def test_people_read_the_settings_in_words() -> None:
    out = StringIO()
    call_command("program_settings", "--program", "alder", stdout=out)
    assert "none leave until a go-live day is set" in out.getvalue()
