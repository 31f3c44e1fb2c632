"""What the commands of a running office promise: exit codes, pure JSON, every key, counts."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from tests.contract.conftest import AS_OF, REGISTRY, Office
from tests.own_database import DatabaseMaker

pytestmark = pytest.mark.xdist_group("kept office")

SMALL = ("--program", "small")
DAY = ("--as-of", AS_OF)
ENTRY = {"row", "column", "value", "message"}
LOADED = {"rows", "created", "updated", "unchanged", "rejected", "warnings", "columns"}

CUSTOMERS = """\
Account,Customer,Service Address,City,State,Zip,Owner,Mailing Address,Mail City,Mail ST,Mail Zip
1001-01,Larkspur Bakery,12 Larkspur Ln,Tamarack Flats,WA,99171,Bea Fennelgate,PO Box 7,\
Tamarack Flats,WA,99171
2001-01,Teasel Mill,9 Teasel Rd,Tamarack Flats,WA,99171,Teasel Mill,9 Teasel Rd,Tamarack Flats,\
WA,99171
"""
HISTORY = """\
serial,what,on,result,until,reason
A200,passed,2025-08-02,,,
B300,extended,2025-05-01,,2025-07-01,bore hole work
B300,passed,2031-01-01,,,
"""


@pytest.fixture(scope="module")
def kept(_databases: DatabaseMaker, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """An office with a registry, before its first day."""
    with _databases.fresh() as address:
        made = Office(database=address, folder=tmp_path_factory.mktemp("kept"))
        made.keep("load", "load_registry", made.file("r.csv", REGISTRY), *SMALL, *DAY, "--json")
        yield made


def said(office: Office, *arguments: str, code: int) -> Any:
    done = office.run(*arguments, "--json")
    assert done.returncode == code, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    return json.loads(done.stdout)


def test_a_customer_file_is_compared_and_its_rows_add_up(kept: Office) -> None:
    path = kept.file("customers.csv", CUSTOMERS)
    tried = said(kept, "load_customers", path, *SMALL, *DAY, "--dry-run", code=0)
    found = said(kept, "load_customers", path, *SMALL, *DAY, code=0)
    assert tried == found
    assert set(found) >= LOADED | {"proposed", "proposals"}
    aside = len({fault["row"] for fault in found["rejected"]})
    total = found["created"] + found["proposed"] + found["unchanged"] + aside
    assert (found["rows"], total) == (2, 2)
    assert sum(found["proposals"].values()) >= found["proposed"] == 1
    again = said(kept, "load_customers", path, *SMALL, *DAY, code=0)
    assert (again["created"], again["rows"]) == (0, 2)


def test_a_customer_file_with_a_row_nobody_can_read_ends_with_1(kept: Office) -> None:
    path = kept.file("broken.csv", CUSTOMERS + ",,,,,,,,,,\n3001-01,,,,,,Nobody,,,,\n")
    found = said(kept, "load_customers", path, *SMALL, *DAY, "--dry-run", code=1)
    assert found["rejected"]
    assert all(set(fault) == ENTRY for fault in found["rejected"])


def test_the_past_of_an_office_is_brought_once(kept: Office) -> None:
    path = kept.file("past.csv", HISTORY)
    tried = said(kept, "load_history", path, *SMALL, *DAY, "--dry-run", code=1)
    found = said(kept, "load_history", path, *SMALL, *DAY, code=1)
    assert set(found) >= LOADED | {"brought"}
    assert (found["rows"], found["created"]) == (tried["rows"], tried["created"]) == (3, 2)
    (fault,) = found["rejected"]  # a test that lies in the future
    assert (fault["row"], fault["value"], set(fault)) == (4, "2031-01-01", ENTRY)
    again = said(kept, "load_history", path, *SMALL, *DAY, code=1)
    assert (again["created"], again["unchanged"]) == (0, 2)


def test_a_year_is_levelled_and_says_what_does_not_fit(kept: Office) -> None:
    wide = ("level_year", *SMALL, "--from", AS_OF, "--to", "2027-11-24", "--capacity")
    found = said(kept, *wide, "25/week", code=0)
    assert set(found) >= {
        "program", "capacity", "per", "from", "to", "feasible", "proven", "obligations", "visits",
        "moved", "lost_days", "enough", "steers", "left_out", "periods", "over", "targets",
        "applied",
    }  # fmt: skip
    assert (found["feasible"], found["applied"]) == (True, None)
    assert len(found["targets"]) == found["obligations"] > 0
    assert sum(one["after"] for one in found["periods"]) == found["obligations"]
    assert all(one["target_on"] <= one["due_on"] for one in found["targets"])
    # from Monday to Friday with one test a week there is room for one
    narrow = ("level_year", *SMALL, "--from", AS_OF, "--to", "2026-11-29", "--capacity", "1/month")
    assert said(kept, *narrow, code=0)["obligations"] == 0


def test_a_rulebook_is_compared_and_nothing_is_written(kept: Office) -> None:
    before = said(kept, "explain", "A100", *SMALL, *DAY, code=0)
    found = said(kept, "compare_rulebooks", *SMALL, "--draft", "plain-season", *DAY, code=0)
    assert set(found) >= {
        "program", "in_force", "draft", "effective_on", "assemblies", "due_dates",
        "moved_by_days", "histogram", "overdue", "letters", "assumed",
    }  # fmt: skip
    dates = found["due_dates"]
    assert dates["moved"] == dates["earlier"] + dates["later"]
    assert dates["moved"] == sum(one["due_dates"] for one in found["moved_by_days"])
    assert (len(found["letters"]), found["letters"][0]["month"]) == (24, "2026-11")
    assert said(kept, "explain", "A100", *SMALL, *DAY, code=0) == before


def test_the_clock_tells_of_live_programs_alone(kept: Office) -> None:
    # the office of this test is a trial, which nothing wakes
    found = said(kept, "clock", code=0)
    assert (set(found), found["programs"]) == ({"now", "next_wake_up", "programs"}, [])
    live = kept.file("live.csv", REGISTRY)
    kept.run("load_registry", live, "--program", "living", "--json")
    kept.run("program_settings", "--program", "living", "--go-live", "2026-01-01")
    done = kept.run("clock", "--json")
    found = json.loads(done.stdout)
    (face,) = found["programs"]
    assert set(face) == {
        "program", "zone", "local_time", "day_begins_at", "last_run_on", "would_run", "why",
        "fault",
    }  # fmt: skip
    assert done.returncode == (1 if face["fault"] else 0)


@pytest.mark.parametrize(
    "arguments",
    [
        ("load_customers", "r.csv", "--program", "nobody"),
        ("load_customers", "missing.csv", *SMALL),
        ("load_customers", "r.csv", *SMALL, "--as-of", "25.11.2026"),
        ("load_history", "r.csv", "--program", "nobody"),
        ("load_history", "missing.csv", *SMALL),
        ("level_year", "--program", "nobody", "--capacity", "5/week"),
        ("level_year", *SMALL, "--capacity", "0/week"),
        ("level_year", *SMALL, "--capacity", "five"),
        ("level_year", *SMALL, "--capacity", "5/week", "--from", "2027-01-01", "--to", AS_OF),
        ("compare_rulebooks", "--program", "nobody", "--draft", "plain-season"),
        ("compare_rulebooks", *SMALL, "--draft", "no-such-book"),
        ("compare_rulebooks", *SMALL, "--draft", "plain-season", "--as-of", "2020-01-01"),
        ("clock", "--nonsense"),
    ],
)
def test_what_cannot_be_done_is_refused_with_2(kept: Office, arguments: tuple[str, ...]) -> None:
    paths = [str(kept.folder / one) if one.endswith(".csv") else one for one in arguments]
    done = kept.run(*paths, "--json")
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr
    answer = json.loads(done.stdout)
    assert list(answer) == ["error"]
    assert answer["error"].strip()
