"""The command `replay_facts` from outside: odd files, exit codes, keys, the oracle's answers."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

import pytest
import xlsxwriter
from django.core.management import call_command

from tests.oracle.dayloop import answer
from tests.oracle.generator import BOOKS, histories
from tests.oracle.worked import WORKED

HEADER = "assembly,type,hazard,service,protects,fact,on"
INSTALLED = "A1,RP,high,domestic,containment,installed,2025-03-01"
PASSED = "A1,RP,high,domestic,containment,passed,2025-03-05"
PLAIN = f"{HEADER}\n{INSTALLED}\n{PASSED}\n"
AS_OF = "2025-11-25"


def sheet(*lines: str) -> str:
    return "\n".join(lines)


KEYS = {
    "assembly",
    "standing",
    "opens_on",
    "due_on",
    "next_rung",
    "obligations",
    "reasons",
    "warnings",
}
OBLIGATION_KEYS = {"kind", "opens_on", "due_on", "cure_by", "closed_on", "closed_how"}
REASON_KEYS = {"date", "rule", "arithmetic", "citation"}


class Calculator:
    """Calls the command on a file and gives back exit code, JSON and words."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys

    def ask(
        self, data: str | bytes | Path, *, book: str = "plain-rolling", as_of: str = AS_OF
    ) -> tuple[int, Any, str]:
        path = data if isinstance(data, Path) else self.folder / "facts.csv"
        if not isinstance(data, Path):
            path.write_bytes(data if isinstance(data, bytes) else data.encode())
        code = 0
        try:
            call_command("replay_facts", str(path), "--rulebook", book, "--as-of", as_of, "--json")
        except SystemExit as end:
            code = int(end.code or 0)
        out, err = self.capsys.readouterr()
        return code, json.loads(out), err


@pytest.fixture
def calculator(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Calculator:
    return Calculator(tmp_path, capsys)


def excel_file(path: Path) -> Path:
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet()
    sheet.write_row(0, 0, HEADER.split(","))
    for row, line in enumerate((INSTALLED, PASSED), start=1):
        *cells, on = line.split(",")
        sheet.write_row(row, 0, cells)
        shape = book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_datetime(row, 6, date.fromisoformat(on), shape)
    book.close()
    return path


@pytest.mark.parametrize(
    "data",
    [
        PLAIN.encode(),
        b"\xef\xbb\xbf" + PLAIN.encode(),
        PLAIN.replace(",", ";").encode(),
        PLAIN.replace(",", "\t").encode(),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace("domestic", "Domestic ").encode("cp1252"),
        sheet(HEADER, PASSED, INSTALLED).encode(),
        sheet(HEADER.title(), INSTALLED, PASSED).encode(),
        sheet(HEADER, "A1,RP,high,domestic,containment,,", INSTALLED, PASSED).encode(),
        sheet(HEADER, INSTALLED, PASSED, INSTALLED, PASSED).encode(),
        "\n".join(",".join(reversed(s.split(","))) for s in PLAIN.splitlines()).encode(),
    ],
    ids=[
        "plain",
        "byte order mark",
        "semicolons",
        "tabs",
        "carriage returns",
        "cp1252",
        "rows in another order",
        "headers in capitals",
        "a row without a fact",
        "rows told twice",
        "columns in another order",
    ],
)
def test_the_same_facts_give_the_same_answer_however_the_file_is_written(
    calculator: Calculator, data: bytes
) -> None:
    code, found, _ = calculator.ask(data)
    assert code == 0
    assert [one["assembly"] for one in found] == ["A1"]
    assert (found[0]["standing"], found[0]["due_on"]) == ("overdue", "2025-09-05")
    assert found[0]["next_rung"] == {"rung": "first-overdue", "on": AS_OF}
    assert len(found[0]["obligations"]) == 2


def test_a_workbook_with_real_dates_is_read(calculator: Calculator, tmp_path: Path) -> None:
    code, found, _ = calculator.ask(excel_file(tmp_path / "facts.xlsx"))
    assert (code, found[0]["due_on"]) == (0, "2025-09-05")


def test_a_name_in_cp1252_keeps_its_letters(calculator: Calculator) -> None:
    code, found, _ = calculator.ask(PLAIN.replace("A1", "Café – 1").encode("cp1252"))
    assert (code, found[0]["assembly"]) == (0, "Café – 1")


def test_no_key_is_ever_absent(calculator: Calculator) -> None:
    lines = [HEADER, INSTALLED, PASSED, "G,AG,,,,,", "N,DC,,,,,", "R,DC,low,,,removed,2025-01-01"]
    _, found, _ = calculator.ask(sheet(*lines))
    assert [one["assembly"] for one in found] == ["A1", "G", "N", "R"]
    for one in found:
        assert set(one) == KEYS
        assert all(set(row) == OBLIGATION_KEYS for row in one["obligations"])
        assert all(set(reason) == REASON_KEYS for reason in one["reasons"])
    assert found[0]["reasons"]


def test_a_fact_after_the_day_is_ignored_and_said(calculator: Calculator) -> None:
    late = PASSED.replace("2025-03-05", "2025-11-26")
    code, found, err = calculator.ask(sheet(HEADER, INSTALLED, PASSED, late))
    assert (code, found[0]["due_on"]) == (1, "2025-09-05")
    assert "2025-11-26" in err
    assert any("2025-11-26" in warning for warning in found[0]["warnings"])


def test_a_fact_on_the_day_counts(calculator: Calculator) -> None:
    today = PASSED.replace("2025-03-05", AS_OF)
    code, found, _ = calculator.ask(sheet(HEADER, INSTALLED, today))
    assert (code, found[0]["standing"]) == (0, "good")


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        (PASSED.replace("passed", "exploded"), "exploded"),
        (PASSED.replace("2025-03-05", "2025-02-30"), "2025-02-30"),
        (PASSED.replace("2025-03-05", "03/05/2025"), "03/05/2025"),
        (PASSED.replace("2025-03-05", "soon"), "soon"),
    ],
)
def test_one_bad_row_is_named_and_the_rest_goes_on(
    calculator: Calculator, wrong: str, named: str
) -> None:
    other = "B2,DC,low,,,passed,2025-05-10"
    code, found, err = calculator.ask(sheet(HEADER, INSTALLED, PASSED, wrong, other))
    assert code == 1
    assert "row 4" in err
    assert named in err
    assert [one["due_on"] for one in found] == ["2025-09-05", "2026-05-10"]


def test_a_type_that_is_none_sets_only_its_assembly_aside(calculator: Calculator) -> None:
    lines = [HEADER, "X,XYZ,high,,,passed,2025-03-05", INSTALLED, PASSED]
    code, found, err = calculator.ask(sheet(*lines))
    assert (code, [one["assembly"] for one in found]) == (1, ["A1"])
    assert "XYZ" in err


def test_what_it_is_comes_from_its_first_row_and_a_difference_is_warned(
    calculator: Calculator,
) -> None:
    differing = "A1,DC,low,fire,isolation,passed,2025-03-05"
    code, found, _ = calculator.ask(sheet(HEADER, INSTALLED, differing))
    assert (code, found[0]["due_on"]) == (0, "2025-09-05")
    assert len(found[0]["warnings"]) == 4


@pytest.mark.parametrize(
    ("data", "book"),
    [
        (PLAIN, "plain-nothing"),
        ("", "plain-rolling"),
        ("assembly,type\nA1,RP\n", "plain-rolling"),
        (PLAIN.encode("utf-16"), "plain-rolling"),
        (Path("/nowhere/at/all.csv"), "plain-rolling"),
    ],
    ids=["unknown rulebook", "empty file", "no fact column", "UTF-16", "no file"],
)
def test_nothing_done_is_exit_two_with_the_reason(
    calculator: Calculator, data: str | bytes | Path, book: str
) -> None:
    code, found, err = calculator.ask(data, book=book)
    assert code == 2
    assert set(found) == {"error"}
    assert found["error"] in err


def as_written(expected: dict[str, Any]) -> dict[str, Any]:
    """The oracle's dates as the command writes them."""
    written: dict[str, Any] = json.loads(json.dumps(expected, default=date.isoformat))
    return written


@pytest.mark.parametrize("book", BOOKS)
def test_the_command_agrees_with_the_oracle_on_a_file_of_random_histories(
    calculator: Calculator, book: str
) -> None:
    as_of = date.fromisoformat(AS_OF)
    expected, rows = {}, []
    for number, each in enumerate(histories(seed=len(book), count=400)):
        name = f"N{number}"
        what = [name, each.kind, each.hazard, "", ""]
        rows += [[*what, word, on.isoformat()] for word, on in each.facts] or [[*what, "", ""]]
        expected[name] = answer(
            rulebook=book, kind=each.kind, hazard=each.hazard, facts=each.facts, as_of=as_of
        )
    Random(5).shuffle(rows)
    text = io.StringIO()
    csv.writer(text).writerows([HEADER.split(","), *rows])
    code, found, _ = calculator.ask(text.getvalue(), book=book)
    told = {one["assembly"]: {key: one[key] for key in expected["N0"]} for one in found}
    assert code == 1  # some facts lie after the day
    assert told == {name: as_written(each) for name, each in expected.items()}


def test_the_command_agrees_with_the_hand(calculator: Calculator) -> None:
    wrong = {}
    for case in WORKED:
        what = ["A1", case.kind, case.hazard, "", ""]
        rows = [[*what, word, on.isoformat()] for word, on in case.fact_list]
        text = io.StringIO()
        csv.writer(text).writerows([HEADER.split(","), *(rows or [[*what, "", ""]])])
        _, found, _ = calculator.ask(text.getvalue(), book=case.rulebook, as_of=case.as_of)
        told = {key: found[0][key] for key in case.expected}
        if told != as_written(case.expected) or (case.warned and not found[0]["warnings"]):
            wrong[case.name] = (told, case.words)
    assert wrong == {}
