"""Delimited text, whole and broken."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.domain.delimited import cut_records, sniff_delimiter

HEADER = "a,b,c,d,e\n"


def cells(text: str) -> list[tuple[str, ...]]:
    return [record.cells for record in cut_records(text)]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_delimiter_is_found_by_the_header(delimiter: str) -> None:
    text = f'size{delimiter}serial{delimiter}notes\n1{delimiter}A1{delimiter}"x, y; z"\n'
    assert sniff_delimiter(text) == delimiter
    assert cells(text)[1] == ("1", "A1", "x, y; z")


def test_decimal_commas_do_not_make_a_comma_the_delimiter() -> None:
    assert cells("size;lat\n1,5;46,8\n0,75;46,9\n")[1] == ("1,5", "46,8")


def test_a_quoted_header_with_a_comma_is_one_header() -> None:
    assert cells('"size, in";serial\n1;A\n')[0] == ("size, in", "serial")


def test_a_declared_separator_is_obeyed_and_is_no_record() -> None:
    assert cells("sep=;\na;b\n1;2\n") == [("a", "b"), ("1", "2")]


def test_a_line_break_inside_a_cell_starts_no_record() -> None:
    assert cells('a,b\n"one\ntwo",2\n') == [("a", "b"), ("one\ntwo", "2")]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_ends_of_every_system_are_read_a_lone_carriage_return_too(ending: str) -> None:
    assert cells(ending.join(["a,b", "1,2", "3,4", ""])) == [("a", "b"), ("1", "2"), ("3", "4")]


def test_blank_lines_are_no_records() -> None:
    assert cells("a,b\n\n1,2\n\n\n3,4\n") == [("a", "b"), ("1", "2"), ("3", "4")]


def test_an_inch_mark_in_an_unquoted_cell_is_part_of_it() -> None:
    assert cells('a,b\n3/4",x\n"1 1/2""",y\n') == [("a", "b"), ('3/4"', "x"), ('1 1/2"', "y")]


def test_a_quote_never_closed_costs_its_own_row_alone() -> None:
    records = cut_records(HEADER + '1,"big one,3,4,5\n6,7,8,9,10\n11,12,13,14,15\n')
    assert [record.fault is not None for record in records] == [False, True, False, False]
    assert records[2].cells == ("6", "7", "8", "9", "10")
    assert records[3].cells == ("11", "12", "13", "14", "15")


def test_a_quote_that_closes_at_a_later_rows_quote_is_found_out() -> None:
    records = cut_records(
        HEADER + '1,"runs on,3,4,5\n6,7,8,9,10\n11,"12",13,14,15\n16,17,18,19,20\n'
    )
    faulty = [index for index, record in enumerate(records) if record.fault]
    assert faulty == [1]
    assert records[-1].cells == ("16", "17", "18", "19", "20")
    assert len(records) == 5


def test_a_cell_of_two_hundred_thousand_characters_is_read() -> None:
    assert cells("a,b\n" + "x" * 200_000 + ",1\n")[1] == ("x" * 200_000, "1")


TEXTS = st.text(
    alphabet=st.characters(codec="utf-8", exclude_characters="\x00\r", exclude_categories=["Cs"]),
    max_size=12,
)


@given(st.lists(st.tuples(TEXTS, TEXTS, TEXTS, TEXTS, TEXTS), min_size=1, max_size=8))
def test_what_a_csv_writer_writes_comes_back_as_it_was(rows: list[tuple[str, ...]]) -> None:
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\n")
    writer.writerows([("a", "b", "c", "d", "e"), *rows])
    read = cut_records(out.getvalue())
    kept = [record for record in read[1:] if not record.fault]
    # a text of four delimiters in a line looks like a swallowed record, and is told instead
    assert all(record.cells in rows for record in kept)
    if not any(cell.count(",") >= 4 for row in rows for cell in row):
        assert [record.cells for record in read[1:]] == rows


@given(st.text(max_size=200))
def test_no_text_breaks_the_reading(text: str) -> None:
    for record in cut_records(text):
        assert isinstance(record.cells, tuple)
