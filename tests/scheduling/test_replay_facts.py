"""`replay_facts`: a sheet of facts in, standings out, without a database."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from django.core.management import call_command

HEAD = "assembly,type,hazard,service,protects,fact,on"
SHEET = f"""{HEAD}
A1,RP,high,domestic,containment,passed,2025-03-04
A2,DC,low,,,installed,2024-03-01
A2,,,,,passed,2024-03-04
A3,PVB,,,,,
A4,AG,high,,,installed,2020-01-01
"""


class Answer:
    """What one run of the command said."""

    def __init__(self, *words: str) -> None:
        out, err = io.StringIO(), io.StringIO()
        try:
            call_command("replay_facts", *words, stdout=out, stderr=err)
            self.code = 0
        except SystemExit as ended:
            self.code = int(ended.code or 0)
        self.out, self.err = out.getvalue(), err.getvalue()

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def asked(path: Path, *, rulebook: str = "plain-rolling", as_of: str = "2025-11-25") -> Answer:
    return Answer(str(path), "--rulebook", rulebook, "--as-of", as_of, "--json")


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "facts.csv"
    path.write_text(SHEET, encoding="utf-8")
    return path


def written(tmp_path: Path, *rows: str, head: str = HEAD) -> Path:
    path = tmp_path / "rows.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def test_each_assembly_gets_one_object_with_every_key(sheet: Path) -> None:
    answer = asked(sheet)
    assert (answer.code, answer.err) == (0, "")
    assert [each["assembly"] for each in answer.json] == ["A1", "A2", "A3", "A4"]
    for each in answer.json:
        assert list(each) == [
            "assembly",
            "standing",
            "opens_on",
            "due_on",
            "next_rung",
            "obligations",
            "reasons",
            "warnings",
        ]
        for row in each["obligations"]:
            assert list(row) == ["kind", "opens_on", "due_on", "cure_by", "closed_on", "closed_how"]
        for reason in each["reasons"]:
            assert list(reason) == ["date", "rule", "arithmetic", "citation"]


def test_the_answers_are_those_worked_by_hand(sheet: Path) -> None:
    a1, a2, a3, a4 = asked(sheet).json
    # RP on high hazard: 2025-03-04 + 6 months, opens 60 days before
    assert (a1["standing"], a1["opens_on"], a1["due_on"]) == ("overdue", "2025-07-06", "2025-09-04")
    assert a1["next_rung"] == {"rung": "first-overdue", "on": "2025-11-25"}
    # 2024-03-04 + 1 year
    assert (a2["standing"], a2["due_on"]) == ("overdue", "2025-03-04")
    assert [row["closed_how"] for row in a2["obligations"]] == ["met", None]
    # named only: opens on the day asked about, due 30 days on
    assert (a3["standing"], a3["opens_on"], a3["due_on"]) == (
        "untested",
        "2025-11-25",
        "2025-12-25",
    )
    assert a3["next_rung"] == {"rung": "test-owed", "on": "2025-11-25"}
    assert (a4["standing"], a4["opens_on"], a4["due_on"]) == ("exempt", None, None)
    assert (a4["next_rung"], a4["obligations"]) == (None, [])


@pytest.mark.parametrize(
    ("fact", "standing"), [("removed,2025-04-01", "removed"), ("idled,2025-04-01", "idle")]
)
def test_nothing_comes_next_for_one_removed_or_idle(
    tmp_path: Path, fact: str, standing: str
) -> None:
    path = written(tmp_path, "A,DC,low,,,passed,2025-03-04", f"A,,,,,{fact}")
    (said,) = asked(path).json
    assert (said["standing"], said["next_rung"]) == (standing, None)
    assert (said["due_on"] is None) == (standing == "removed")


def test_rows_come_in_any_order(tmp_path: Path) -> None:
    rows = ["A,DC,low,,,passed,2024-03-04", "A,DC,low,,,installed,2024-03-01"]
    assert asked(written(tmp_path, *rows)).json == asked(written(tmp_path, *rows[::-1])).json


def test_a_fact_after_the_day_asked_about_is_ignored_and_said_so(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "A,DC,low,,,passed,2025-03-04",
        "A,,,,,failed,2025-11-26",
        "A,,,,,passed,2025-11-25",
    )
    answer = asked(path)
    assert answer.code == 1
    assert "ignored: row 3, column on, value '2025-11-26'" in answer.err
    (said,) = answer.json
    assert said["standing"] == "good"
    assert said["due_on"] == "2026-11-25"
    assert "lies after 2025-11-25" in said["warnings"][0]


@pytest.mark.parametrize(
    ("row", "column", "told"),
    [
        ("A,DC,low,,,passed,31/02/2025", "on", "no day of the calendar"),
        ("A,DC,low,,,passed,2025-02-30", "on", "no day of the calendar"),
        ("A,DC,low,,,passed,20250301", "on", "no day of the calendar"),
        ("A,DC,low,,,passed,", "on", "is missing"),
        ("A,DC,low,,,passed,1899-12-31", "on", "outside 1900 to 2200"),
        ("A,DC,low,,,tested,2025-03-04", "fact", "no fact known here"),
        ("A,XX,low,,,passed,2025-03-04", "type", "not understood as a type"),
        ("A,,low,,,passed,2025-03-04", "type", "gives its type"),
        (",DC,low,,,passed,2025-03-04", "assembly", "No assembly is named"),
    ],
)
def test_a_row_that_cannot_be_read_is_set_aside_by_row_and_column(
    tmp_path: Path, row: str, column: str, told: str
) -> None:
    answer = asked(written(tmp_path, "B,DC,low,,,passed,2025-03-04", row))
    assert answer.code == 1
    assert f"set aside: row 3, column {column}" in answer.err
    assert told in answer.err
    assert answer.json[0]["assembly"] == "B"
    named = [each for each in answer.json if each["assembly"] == "A"]
    # one whose type can be read is not lost: it stands with what is known, and says so
    assert all(told in each["warnings"][0] for each in named)
    assert bool(named) == (column in ("on", "fact"))


def test_a_difference_from_the_first_row_is_warned_and_the_first_row_holds(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "A,RPZ,high,,,passed,2025-03-04",
        "A,RP,Health,,,repaired,2025-03-01",  # the same in other words
        "A,DC,low,,,failed,2025-03-02",
    )
    answer = asked(path)
    assert answer.code == 0
    (said,) = answer.json
    assert [warning.split(":")[0] for warning in said["warnings"]] == [
        "row 4, type",
        "row 4, hazard",
    ]
    assert said["due_on"] == "2025-09-04"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_every_way_of_writing_the_sheet_gives_the_same(
    sheet: Path, tmp_path: Path, encoding: str, mark: str
) -> None:
    text = SHEET.replace("A1", "Größe 1").replace(",", mark)
    path = tmp_path / "other.csv"
    path.write_bytes(text.encode(encoding))
    answer = asked(path)
    assert answer.code == 0
    wanted = asked(sheet).json
    assert answer.json[0]["assembly"] == "Größe 1"
    assert answer.json[0]["due_on"] == wanted[0]["due_on"]
    assert answer.json[1:] == wanted[1:]


def test_a_workbook_is_read_like_a_csv(sheet: Path, tmp_path: Path) -> None:
    path = tmp_path / "facts.xlsx"
    book = xlsxwriter.Workbook(str(path))
    page = book.add_worksheet()
    for number, row in enumerate(SHEET.splitlines()):
        page.write_row(number, 0, row.split(","))
    book.close()
    assert asked(path).json == asked(sheet).json


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--rulebook", "nowhere"], "plain-anniversary, plain-rolling, plain-season"),
        (["--rulebook", "../plain-rolling"], "No rulebook is called"),
    ],
)
def test_an_unknown_rulebook_is_refused(sheet: Path, words: list[str], told: str) -> None:
    answer = Answer(str(sheet), *words, "--as-of", "2025-11-25", "--json")
    assert answer.code == 2
    assert told in answer.json["error"]
    assert told in answer.err


def test_what_is_no_sheet_of_facts_is_refused(tmp_path: Path) -> None:
    absent = asked(tmp_path / "absent.csv")
    assert (absent.code, set(absent.json)) == (2, {"error"})
    other = tmp_path / "other.csv"
    other.write_text("serial,date\nA,2025-01-01\n", encoding="utf-8")
    answer = asked(other)
    assert answer.code == 2
    assert "no column assembly and type and fact and on" in answer.json["error"]


def test_for_people_it_says_standing_reasons_and_an_example(sheet: Path) -> None:
    answer = Answer(str(sheet), "--rulebook", "plain-season", "--as-of", "2025-11-25")
    assert answer.code == 0
    assert "verify against local code" in answer.out
    assert "A1: good, due 2026-05-31, next reminder on 2026-04-16" in answer.out
    assert "1 exempt, 2 good, 1 untested" not in answer.out  # A2 was last tested in 2024
    assert "1 exempt, 1 good, 1 overdue, 1 untested" in answer.out


@pytest.mark.parametrize("rulebook", ["plain-rolling", "plain-anniversary", "plain-season"])
def test_a_header_alone_is_an_empty_list(tmp_path: Path, rulebook: str) -> None:
    answer = asked(written(tmp_path), rulebook=rulebook)
    assert (answer.code, answer.json) == (0, [])
