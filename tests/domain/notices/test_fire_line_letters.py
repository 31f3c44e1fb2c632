"""A letter about fire lines names every address: who fights a fire looks for nothing else."""

from __future__ import annotations

from dataclasses import replace

from notices.catalogues import words_in
from notices.domain.fire_line_letters import fire_line
from tests.domain.notices.order_samples import BRIEF, MANY


def test_lines_of_several_premises_stand_under_their_address() -> None:
    text = fire_line(MANY, words=words_in("en"))
    assert text.headline == (
        "14 fire lines at Tamarack Flats Water District have no passing backflow test.",
        "We leave the lines as they are and report them to you.",
    )
    assert [group.title for group in text.table.groups] == [f"{n} Larch Court" for n in range(7)]
    assert [len(group.rows) for group in text.table.groups] == [2] * 7
    assert text.table.title == "The whole list"
    assert "We wrote to the owners on: December\N{NO-BREAK SPACE}1, 2025." in text.paragraphs


def test_one_line_has_its_address_in_the_headline_alone() -> None:
    text = fire_line(BRIEF, words=words_in("en"))
    assert text.headline[0] == "A fire line at 230 Larch Court has no passing backflow test."
    assert [(group.title, len(group.rows)) for group in text.table.groups] == [("", 1)]
    assert text.table.title == ""


def test_two_lines_of_one_premises_are_counted_and_not_named_twice() -> None:
    two = replace(BRIEF, items=(BRIEF.items[0], replace(BRIEF.items[0], serial="F2")))
    text = fire_line(two, words=words_in("es"))
    assert text.headline[0].startswith("2 líneas contra incendios en 230 Larch Court no tienen")
    assert [group.title for group in text.table.groups] == [""]
