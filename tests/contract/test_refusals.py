"""What cannot be done is refused with exit 2, one sentence, and an error in JSON."""

from __future__ import annotations

import json

import pytest

from tests.contract.conftest import Office

pytestmark = pytest.mark.xdist_group("office")

NOBODY = ("--program", "nobody")
SMALL = ("--program", "small")
DAY = ("--as-of", "2026-11-25")

REFUSED = {
    "load without a program": ("load_registry", "registry.csv"),
    "load of a missing file": ("load_registry", "missing.csv", *SMALL),
    "load by another rulebook": ("load_registry", "registry.csv", *SMALL, "--rulebook", "other"),
    "load by no rulebook": ("load_registry", "registry.csv", *NOBODY, "--rulebook", "none", *DAY),
    "load in no zone": ("load_registry", "registry.csv", *NOBODY, "--zone", "Mars/Base", *DAY),
    "load as of no date": ("load_registry", "registry.csv", *SMALL, "--as-of", "25.11.2026"),
    "testers of no program": ("load_testers", "t.csv", *NOBODY),
    "tests of no program": ("load_tests", "f.csv", *NOBODY),
    "tests by no method": ("load_tests", "f.csv", *SMALL, "--method", "none", *DAY),
    "export of no program": ("export_registry", *NOBODY, "--format", "json"),
    "export in no format": ("export_registry", *SMALL, "--format", "xml"),
    "explain no serial": ("explain", "nothing", *SMALL),
    "explain in no program": ("explain", "A100", *NOBODY),
    "day of no program": ("run_day", *NOBODY),
    "day before the last": ("run_day", *SMALL, "--as-of", "2026-11-24"),
    "plan of no program": ("plan_rounds", *NOBODY, "--from", "2026-11-30", "--days", "1"),
    "plan of no days": ("plan_rounds", *SMALL, "--from", "2026-11-30", "--days", "0"),
    "calendar of nobody": ("export_calendar", *SMALL, "--tester", "T-9"),
    "calendar of no program": ("export_calendar", *NOBODY, "--tester", "T-1"),
    "facts of a missing file": ("replay_facts", "missing.csv", "--rulebook", "plain-rolling", *DAY),
    "facts by no rulebook": ("replay_facts", "facts.csv", "--rulebook", "none", *DAY),
    "readings by no method": ("judge", "readings.csv", "--method", "none"),
    "readings of a missing file": ("judge", "missing.csv", "--method", "usc10"),
    "settings of no program": ("program_settings", *NOBODY),
}
WITHOUT_JSON = {"export_registry", "export_calendar"}


@pytest.mark.parametrize("what", REFUSED)
def test_refused(office: Office, what: str) -> None:
    command, *rest = REFUSED[what]
    arguments = [str(office.folder / one) if one.endswith(".csv") else one for one in rest]
    if command not in WITHOUT_JSON:
        arguments.append("--json")
    done = office.run(command, *arguments)
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr
    if command in WITHOUT_JSON:
        assert done.stdout == ""
        return
    said = json.loads(done.stdout)
    assert list(said) == ["error"]
    assert said["error"].strip()


def test_a_refusal_without_json_says_nothing_on_standard_output(office: Office) -> None:
    done = office.run("run_day", *NOBODY)
    assert (done.returncode, done.stdout) == (2, "")


def test_a_file_that_is_no_spreadsheet_is_refused(office: Office) -> None:
    path = office.folder / "picture.xlsx"
    path.write_bytes(b"PK\x03\x04 this is no workbook")
    done = office.run("load_registry", str(path), *SMALL, *DAY, "--json")
    assert done.returncode == 2
    assert "error" in json.loads(done.stdout)
