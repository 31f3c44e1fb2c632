"""The command `judge` keeps what it promises its callers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from django.core.management import call_command

HEADER = (
    "id,type,unit,relief,check1,check2,check1_tight,check2_tight,air_inlet,air_inlet_full,check,"
    "shutoff2_tight,bypass_relief,bypass_check1,bypass_check2,bypass_check2_tight,meter_moved"
)
GOOD_RP = "a,RP,psid,2.0,5.0,,,Y,,,,Y,,,,,"
KEYS = {"id", "outcome", "criteria", "reasons", "warnings"}
CRITERION_KEYS = {"name", "reading", "limit", "met", "margin", "citation"}

Asked = tuple[int, Any, str]


@pytest.fixture
def ask(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    def run(data: str | bytes, *, method: str = "usc10", name: str = "tests.csv") -> Asked:
        path = tmp_path / name
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        return run_file(path, method)

    def run_file(path: Path, method: str) -> Asked:
        code = 0
        try:
            call_command("judge", str(path), method=method, json=True)
        except SystemExit as end:
            code = int(end.code or 0)
        captured = capsys.readouterr()
        return code, json.loads(captured.out), captured.err

    run.file = run_file  # type: ignore[attr-defined]
    return run


def sheet(*rows: str) -> str:
    return "\n".join([HEADER, *rows]) + "\n"


def test_a_good_row_ends_with_0_and_every_key(ask: Any) -> None:
    code, answer, _ = ask(sheet(GOOD_RP))
    assert code == 0
    (row,) = answer
    assert set(row) == KEYS
    assert row["id"] == "a"
    assert row["outcome"] == "pass"
    relief = next(c for c in row["criteria"] if c["name"] == "relief")
    assert set(relief) == CRITERION_KEYS
    assert (relief["reading"], relief["limit"], relief["met"]) == ("2.0", "2.0", True)
    assert relief["margin"] == "0.0"
    above = next(c for c in row["criteria"] if c["name"] == "check1_above_relief")
    assert (above["reading"], above["limit"], above["margin"]) == ("5.0", "2.0", "3.0")


def test_a_failing_row_is_done_and_ends_with_0(ask: Any) -> None:
    code, answer, _ = ask(sheet("a,RP,psid,1.9,5.0,,,Y,,,,Y,,,,,", "b,DC,,,,,,,,,,Y,,,,,"))
    assert code == 0
    assert [row["outcome"] for row in answer] == ["fail", "incomplete"]


def test_a_refused_row_goes_beside_the_others_and_ends_with_1(ask: Any) -> None:
    code, answer, _ = ask(
        sheet(
            "a,RP,psid,-2,1e3,,,perhaps,,,,Y,,,,,",
            "b,AVB,,,,,,,,,,,,,,,",
            "c,RP,bar,2.0,5.0,,,Y,,,,Y,,,,,",
            "d,flux,,,,,,,,,,,,,,,",
            GOOD_RP,
        )
    )
    assert code == 1
    assert [row["outcome"] for row in answer] == ["refused"] * 4 + ["pass"]
    reasons = answer[0]["reasons"]
    assert len(reasons) == 3
    assert [reason.split(":")[0] for reason in reasons] == ["relief", "check1", "check2_tight"]
    assert "'-2'" in reasons[0]
    assert all(row["criteria"] == [] for row in answer[:4])


def test_limits_and_margins_in_kpa_are_unrounded(ask: Any) -> None:
    _, answer, _ = ask(sheet("a,RP,kPa,13.7,34.5,,,Y,,,,Y,,,,,"))
    relief = next(c for c in answer[0]["criteria"] if c["name"] == "relief")
    assert float(relief["limit"]) == 13.789514
    assert relief["met"] is False
    assert float(relief["margin"]) == pytest.approx(-0.089514)


def test_a_decimal_comma_in_quotes_is_read_and_a_bare_one_is_refused(ask: Any) -> None:
    code, answer, _ = ask(sheet('a,RP,psid,"2,0",5.0,,,Y,,,,Y,,,,,'))
    assert code == 0
    assert answer[0]["outcome"] == "pass"
    assert any("2,0" in warning for warning in answer[0]["warnings"])
    code, answer, _ = ask(sheet("a,RP,psid,2,0,5.0,,,Y,,,,Y,,,,,Y"))
    assert code == 1
    assert answer[0]["outcome"] == "refused"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_the_file_may_be_of_any_promised_form(ask: Any, delimiter: str, encoding: str) -> None:
    text = sheet(GOOD_RP.replace("a,", "é,"), "", "b,DC,,,1.0,0.9,,,,,,Y,,,,,")
    code, answer, _ = ask(text.replace(",", delimiter).replace("\n", "\r\n").encode(encoding))
    assert code == 0
    assert [(row["id"], row["outcome"]) for row in answer] == [("é", "pass"), ("b", "fail")]


def test_headers_in_capitals_blanks_and_extra_columns_do_no_harm(ask: Any) -> None:
    code, answer, words = ask("Check1, Check2 ,ID,Type,Shutoff2 Tight,Note\n1.0,1.0,7,dc,Y,fine\n")
    assert code == 0
    assert (answer[0]["id"], answer[0]["outcome"]) == ("7", "pass")
    assert "Note" in words


def test_a_workbook_is_read_like_a_text_file(ask: Any, tmp_path: Path) -> None:
    path = tmp_path / "tests.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        page = book.add_worksheet()
        page.write_row(0, 0, ["id", "type", "check1", "check2", "shutoff2_tight"])
        page.write_row(1, 0, [12, "DC", 1.0, 1.1, "Y"])
    code, answer, _ = ask.file(path, "usc10")
    assert code == 0
    assert (answer[0]["id"], answer[0]["outcome"]) == ("12", "pass")


def test_an_unknown_method_or_an_unreadable_file_ends_with_2_and_an_error(
    ask: Any, tmp_path: Path
) -> None:
    for code, answer, words in (
        ask(sheet(GOOD_RP), method="usc11"),
        ask(b""),
        ask("name,size\na,1\n"),
        ask.file(tmp_path / "none.csv", "usc10"),
    ):
        assert code == 2
        assert set(answer) == {"error"}
        assert words.strip()


def test_a_header_alone_is_an_empty_list(ask: Any) -> None:
    assert ask(HEADER + "\n")[:2] == (0, [])


def test_no_key_is_ever_absent_and_an_id_left_blank_is_null(ask: Any) -> None:
    _, answer, _ = ask(sheet(GOOD_RP.replace("a,", ",", 1)))
    assert answer[0]["id"] is None
    assert set(answer[0]) == KEYS


# 5.0 - 2.4 = 2.6 is below the 9th edition's buffer of 3.0 (USC Foundation "Cross Talk", April
# 1996); 5.0 and above 2.4 is all the 10th asks (Washington DOH transition page).
def test_the_same_readings_are_held_against_another_method_where_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "tests.csv"
    path.write_text(f"{HEADER}\na,RP,psid,2.4,5.0,,,Y,,,,Y,,,,,\n")
    call_command("judge", str(path), method="usc10", also=["usc9"], json=True)
    (told,) = json.loads(capsys.readouterr().out)
    assert set(told) == {*KEYS, "also"}
    assert told["outcome"] == "pass"
    assert [(one["method"], one["outcome"]) for one in told["also"]] == [("usc9", "fail")]
    call_command("judge", str(path), method="usc10", also=["usc9", "epa"])
    assert "pass under usc10, fail under usc9, pass under epa" in capsys.readouterr().out
