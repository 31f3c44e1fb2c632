"""The order of a paper run, its groups, and certified numbers as people type them."""

from __future__ import annotations

import pytest

from notices.domain.paper_runs import (
    Enclosed,
    groups_of,
    in_printing_order,
    is_miswritten,
    is_number_list,
    numbers_of,
    read_numbers,
    sheets_of,
    tracking_number,
)


@pytest.mark.parametrize(("pages", "sheets"), [(1, 1), (2, 1), (3, 2), (4, 2), (31, 16)])
def test_a_sheet_has_two_sides(pages: int, sheets: int) -> None:
    assert sheets_of(pages) == sheets


def test_letters_of_as_many_pages_stand_together_by_zip_and_street() -> None:
    letters = [
        Enclosed(delivery_id=1, number="c", pages=2, zip="99171", street="1 Elm"),
        Enclosed(delivery_id=2, number="b", pages=1, zip="99172", street="1 Elm"),
        Enclosed(delivery_id=3, number="a", pages=1, zip="99171", street="2 Elm"),
        Enclosed(delivery_id=4, number="d", pages=1, zip="99171", street="1 Elm"),
    ]
    ordered = in_printing_order(letters)
    assert [one.delivery_id for one in ordered] == [4, 3, 2, 1]
    groups = groups_of([one.pages for one in ordered])
    assert [(g.pages, g.first, g.last, g.letters, g.sheets) for g in groups] == [
        (1, 1, 3, 3, 1),
        (2, 4, 4, 1, 1),
    ]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("9407 3000 0000 0000 0000 00", "9407300000000000000000"),
        ("rr 123456785 us", "RR123456785US"),  # the form of UPU S10, an invented number
        ("1234-5678", "12345678"),
        ("=1+1", ""),
        ("7", ""),
        ("9" * 40, ""),
    ],
)
def test_a_tracking_number_is_kept_without_blanks(typed: str, kept: str) -> None:
    assert tracking_number(typed) == kept


def test_numbers_come_in_the_order_of_the_run_or_after_their_letter() -> None:
    text = (
        "9407 3000 0000 0000 0000 01\n\n7, 9407300000000000000002\n94073000000000000003\n"
        "26-0105-0009 9407300000000000000004\nnonsense!\n"
    )
    lines = read_numbers(text)
    assert [(one.row, one.place, one.letter) for one in lines] == [
        (1, 1, ""),
        (3, 7, ""),
        (4, 8, ""),
        (5, None, "26-0105-0009"),
        (6, 10, ""),
    ]
    assert [bool(one.fault) for one in lines] == [False] * 4 + [True]
    assert lines[1].tracking == "9407300000000000000002"


@pytest.mark.parametrize(
    ("scanned", "kept"),
    [
        # USPS Publication 199: the barcode of a label holds 420 and the ZIP, of 5 or 9 figures,
        # before the number of 22 or 26; a scanner may type the separator GS1 calls FNC1.
        ("420991719407300000000000000007", "9407300000000000000007"),
        ("42099171\x1d9407300000000000000007", "9407300000000000000007"),
        ("(420)99171 9407 3000 0000 0000 0000 07", "9407300000000000000007"),
        ("4209917112349407300000000000000007", "9407300000000000000007"),
        ("4209917194073000000000000000000003", "94073000000000000000000003"),
        # No ZIP before it: kept as it is.
        ("42012345678901234567", "42012345678901234567"),
    ],
)
def test_what_a_scanner_reads_before_the_number_comes_off(scanned: str, kept: str) -> None:
    assert tracking_number(scanned) == kept


@pytest.mark.parametrize(
    ("number", "is_wrong"),
    [
        # Worked by hand, weighted MOD 10 (USPS Publication 109, 2-8, the same as GS1's): from the
        # right, figures in places 2, 4, 6 ... count three times. Invented numbers:
        # 9407 3000 0000 0000 0000 0C: 9x3 + 4 + 0x3 + 7 + 3x3 = 47, so C = 3.
        ("9407300000000000000003", False),
        ("9407300000000000000004", True),
        ("9407300000000000000030", True),  # two figures changed places
        ("94073000000000000000000003", False),
        ("94073000000000000000000001", True),
        ("RR123456785US", False),  # other forms are never in doubt
        ("70123456789012345678", False),
    ],
)
def test_a_figure_typed_wrongly_shows_by_the_check_digit(number: str, is_wrong: bool) -> None:
    assert is_miswritten(number) is is_wrong


def test_the_list_of_a_run_filled_in_is_read_by_its_letters() -> None:
    heads = ("place", "letter", "kind", "Certified Number", "sha256")
    rows = [
        (
            2,
            dict(
                zip(
                    heads,
                    ("1", "26-0105-0001", "final", "9407300000000000000003", "a"),
                    strict=True,
                )
            ),
        ),
        (3, dict(zip(heads, ("2", "26-0105-0002", "final", "", "b"), strict=True))),
        (4, dict(zip(heads, ("3", "26-0105-0003", "final", "9.4073E+21", "c"), strict=True))),
        (5, dict(zip(heads, ("4", "", "final", "9407300000000000000010", "d"), strict=True))),
    ]
    assert is_number_list(heads)
    assert not is_number_list(("certified number", "name"))
    lines = numbers_of(rows)
    assert [(one.row, one.letter, one.place, one.tracking) for one in lines] == [
        (2, "26-0105-0001", 1, "9407300000000000000003"),
        (4, "26-0105-0003", 3, ""),
        (5, "", 4, "9407300000000000000010"),
    ]
    assert "A spreadsheet has rounded 9.4073E+21" in lines[1].fault


def test_a_number_of_which_a_spreadsheet_kept_fifteen_figures_is_told() -> None:
    # From memory: spreadsheets keep fifteen figures of a number, and write zeros behind them.
    (line,) = numbers_of([(2, {"place": "1", "tracking": "70123456789012300000"})])
    assert (line.tracking, "rounded" in line.fault) == ("", True)
