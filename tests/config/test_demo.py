"""The demo is the first thing anybody runs: it works, works again, and leaves what it names."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from icalendar import Calendar

from config.demo.district import LOGINS, PASSWORD
from registry.domain.kinds import Role
from tests.own_database import run_manage

# One worker runs the demo; another would run it all over again.
pytestmark = pytest.mark.xdist_group("demo")


def test_there_is_one_login_for_every_role() -> None:
    assert sorted(login.role for login in LOGINS) == sorted(Role)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("demo")


@pytest.fixture(scope="module")
def runs(folder: Path) -> list[subprocess.CompletedProcess[str]]:
    """Two runs on one database of the demo's own."""
    command = ("demo", "--folder", str(folder), "--seconds", "2")
    database = f"sqlite:///{folder}/demo.sqlite3"
    return [run_manage(*command, database=database, check=False) for _ in range(2)]


def counts(said: str) -> dict[str, int]:
    found = re.findall(r"^ *([\d,]+)  ([a-z ]+?)(?: \(|$)", said, re.MULTILINE)
    return {name: int(count.replace(",", "")) for count, name in found}


@pytest.mark.slow
def test_the_demo_runs_twice_in_a_row(runs: list[subprocess.CompletedProcess[str]]) -> None:
    assert [done.returncode for done in runs] == [0, 0], runs[-1].stderr[-3000:]


@pytest.mark.slow
def test_a_second_time_nothing_comes_twice(runs: list[subprocess.CompletedProcess[str]]) -> None:
    first, second = (counts(done.stdout) for done in runs)
    once = ("rows in the spreadsheet", "assemblies", "field tests", "jobs asked for")
    assert {name: first[name] for name in once} == {name: second[name] for name in once}
    assert first["rows in the spreadsheet"] == 2400


@pytest.mark.slow
def test_the_summary_names_what_is_there(
    runs: list[subprocess.CompletedProcess[str]], folder: Path
) -> None:
    said = counts(runs[-1].stdout)
    letters = list((folder / "letters").glob("*.pdf"))
    assert len(letters) == said["letters"] > 1000
    calendars = [Calendar.from_ical(path.read_bytes()) for path in (folder / "calendars").iterdir()]
    events = sum(len(calendar.walk("VEVENT")) for calendar in calendars)
    assert events == said["visits planned"] > 100
    assert said["jobs asked for"] == 10
    assert re.search(r"\(([1-9]\d*) homes to call\)", runs[-1].stdout)


@pytest.mark.slow
def test_the_summary_says_who_can_log_in(runs: list[subprocess.CompletedProcess[str]]) -> None:
    said = runs[-1].stdout
    assert PASSWORD in said
    assert all(re.search(rf"^  {login.username}\b", said, re.MULTILINE) for login in LOGINS)
