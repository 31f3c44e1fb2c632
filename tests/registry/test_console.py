"""What commands promise: exit 0, 1, 2; JSON alone on standard output; words on stderr."""

from __future__ import annotations

import json
import subprocess
import sys
from argparse import ArgumentTypeError
from datetime import date
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused, iso_date, tally_lines
from tests.own_database import ROOT, environment_without_settings


class Spoken(OfficeCommand):
    """A command that says what it is told to."""

    requires_system_checks = ()

    def __init__(self, answer: Answer | Refused) -> None:
        super().__init__(stdout=StringIO(), stderr=StringIO(), no_color=True)
        self.answer = answer

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as-of", type=iso_date)

    def perform(self, options: dict[str, Any]) -> Answer:
        if isinstance(self.answer, Refused):
            raise self.answer
        return self.answer

    def run(self, *arguments: str) -> tuple[int, str, str]:
        """Run as from a command line; return exit code, standard output, standard error."""
        code = 0
        try:
            self.run_from_argv(["manage.py", "spoken", *arguments])
        except SystemExit as stop:
            code = int(stop.code or 0)
        return code, self.stdout.getvalue(), self.stderr.getvalue()


ANSWER = Answer(payload={"rows": 1}, lines=["one row"])


def test_done_is_exit_0_with_words_for_people() -> None:
    assert Spoken(ANSWER).run() == (0, "one row\n", "")


def test_with_json_standard_output_holds_that_and_nothing_else() -> None:
    code, out, _ = Spoken(ANSWER).run("--json")
    assert (code, json.loads(out)) == (0, {"rows": 1})


def test_something_set_aside_is_exit_1_and_still_answers() -> None:
    code, out, _ = Spoken(Answer(payload={"rows": 1}, clean=False)).run("--json")
    assert (code, json.loads(out)) == (1, {"rows": 1})


def test_a_refusal_is_exit_2_with_its_sentence_on_standard_error() -> None:
    assert Spoken(Refused("No such program.")).run() == (2, "", "No such program.\n")


def test_a_refusal_is_an_error_in_json_too() -> None:
    code, out, err = Spoken(Refused("No such program.")).run("--json")
    assert (code, err) == (2, "No such program.\n")
    assert json.loads(out) == {"error": "No such program."}


@pytest.mark.parametrize("arguments", [("--nonsense",), ("--as-of",), ("--as-of", "tomorrow")])
def test_wrong_arguments_are_a_refusal_in_json(arguments: tuple[str, ...]) -> None:
    code, out, err = Spoken(ANSWER).run("--json", *arguments)
    assert code == 2
    assert json.loads(out)["error"] in err


def test_dates_are_written_iso_and_decimals_as_strings() -> None:
    payload = {"on": date(2026, 11, 25), "psid": Decimal("2.30")}
    _, out, _ = Spoken(Answer(payload=payload)).run("--json")
    assert json.loads(out) == {"on": "2026-11-25", "psid": "2.30"}


def test_json_is_plain_ascii_for_terminals_of_any_kind() -> None:
    _, out, _ = Spoken(Answer(payload={"name": "Łukowa"})).run("--json")
    assert out.isascii()
    assert json.loads(out) == {"name": "Łukowa"}


@pytest.mark.parametrize(
    "text", ["20261125", "2026-W48-3", "25.11.2026", "2026-02-30", "", "2026-1-1"]
)
def test_a_date_is_written_in_one_way_only(text: str) -> None:
    with pytest.raises(ArgumentTypeError, match="no date"):
        iso_date(text)


@pytest.mark.parametrize("text", ["1899-12-31", "2201-01-01", "0001-01-01"])
def test_a_day_outside_two_centuries_is_a_slip_of_the_pen(text: str) -> None:
    with pytest.raises(ArgumentTypeError, match="outside 1900 to 2200: correct the year"):
        iso_date(text)


def test_a_leap_day_is_a_date() -> None:
    assert iso_date("2028-02-29") == date(2028, 2, 29)


def test_counts_stand_under_each_other() -> None:
    assert tally_lines([("rows", 2400), ("set aside", 7)]) == [
        "   2,400  rows",
        "       7  set aside",
    ]


def run_into(reader: str, *, locale: str = "C.UTF-8") -> subprocess.CompletedProcess[str]:
    """Run a command that says a great deal, its standard output piped into `reader`."""
    script = (
        "import django; django.setup()\n"
        "from registry.console import Answer, OfficeCommand\n"
        "class Long(OfficeCommand):\n"
        "    requires_system_checks = ()\n"
        "    def perform(self, options):\n"
        "        return Answer(payload=None, lines=['\\u0141ukowa'] * 100_000)\n"
        "Long().run_from_argv(['manage.py', 'long'])\n"
    )
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", f'"$0" -c "$1" | {reader}', sys.executable, script],
        cwd=ROOT,
        env={**environment_without_settings(), "LC_ALL": locale, "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
        encoding="utf-8",
    )


def test_a_reader_that_leaves_early_ends_nothing_badly() -> None:
    done = run_into("head -n 1")
    assert (done.returncode, done.stdout, done.stderr) == (0, "Łukowa\n", "")


def test_a_pipe_gets_utf_8_whatever_the_locale_says() -> None:
    done = run_into("tail -n 1", locale="POSIX")
    assert (done.returncode, done.stdout, done.stderr) == (0, "Łukowa\n", "")
