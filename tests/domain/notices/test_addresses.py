"""The address in the envelope's window."""

from __future__ import annotations

from dataclasses import replace

import pytest

from notices.domain.addresses import MOST_LINES, window_block
from tests.domain.notices.letters import ADDRESS


def test_a_plain_address_takes_three_lines_with_city_state_and_zip_last() -> None:
    block = window_block(ADDRESS)
    assert block.lines == ("Larch Court Apartments", "230 Larch Court", "Tamarack Flats XX 00731")
    assert block.problems == ()


def test_a_long_name_takes_two_lines() -> None:
    name = "The Quillfeather and Stillbrook Residential Apartments Association"
    assert len(window_block(replace(ADDRESS, name=name)).lines) == 4


def test_what_takes_more_lines_than_the_window_is_told_and_keeps_the_city() -> None:
    block = window_block(replace(ADDRESS, name="Larch " * 40))
    assert len(block.lines) == MOST_LINES
    assert block.lines[-1] == "Tamarack Flats XX 00731"
    assert "window" in block.problems[0]


@pytest.mark.parametrize("part", ["name", "street", "city", "zip"])
def test_a_missing_part_is_told_to_a_person(part: str) -> None:
    changed = {part: " "}
    (problem,) = window_block(replace(ADDRESS, **changed)).problems
    assert part in problem.lower()


def test_controls_and_line_breaks_of_data_cannot_add_lines() -> None:
    block = window_block(replace(ADDRESS, name="A\u2028B\nC\x00D\u202eE"))
    assert block.lines[0] == "A B CDE"
