"""A form that is kept as it came changes nothing, for every rule of every rulebook that ships."""

from __future__ import annotations

from typing import Any

import pytest
from django.forms import BoundField, Select

from scheduling.domain.draft_tables import DraftTables
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.forms.rule_fields import recurrence, step_words
from scheduling.forms.rules import FORMS
from scheduling.queries.shipped import shipped_names, shipped_text


def as_browsers_post(field: BoundField) -> Any:
    """What a browser posts of an untouched field: of a choice without a value its first."""
    value = field.value()
    if value is None and isinstance(field.field.widget, Select):
        return next(iter(field.field.widget.choices))[0]
    return value


@pytest.mark.parametrize("name", shipped_names())
def test_a_form_kept_as_it_came_changes_nothing(name: str) -> None:
    text = shipped_text(name)
    tables = DraftTables.of(text)
    kinds = [one["name"] for one in tables.rows("kind")]
    for part, kind in FORMS.items():
        for place, cells in enumerate(list(tables.rows(part))):
            shown = kind(initial=kind.initial_of(cells), kinds=kinds)
            told = {field.name: as_browsers_post(field) for field in shown}
            posted = {
                n: value for n, value in told.items() if value is not None and value is not False
            }
            form = kind(posted, kinds=kinds)
            assert form.is_valid(), (part, place, form.errors)
            tables.put(part=part, place=place, cells=form.cells())
    assert read_rulebook(tables.text()) == read_rulebook(text)


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("6 months", "FREQ=MONTHLY;INTERVAL=6"),
        ("1 year", "FREQ=YEARLY"),
        ("3 Years", "FREQ=YEARLY;INTERVAL=3"),
        ("May 31", "FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31"),
        ("FREQ=WEEKLY;INTERVAL=2", "FREQ=WEEKLY;INTERVAL=2"),
        ("every moon", "every moon"),
    ],
)
def test_a_step_is_written_as_people_say_it(said: str, kept: str) -> None:
    assert recurrence(said) == kept
    assert recurrence(step_words(kept)) == kept
