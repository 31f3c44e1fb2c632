"""The order of a paper run, its groups, and certified numbers as people type them."""

from __future__ import annotations

import pytest

from notices.domain.paper_runs import (
    Enclosed,
    groups_of,
    in_printing_order,
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
