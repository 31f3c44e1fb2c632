"""The form of a levelling: how many tests, in a week or a month, from when to when."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from scheduling.actions.levelling import Wish
from scheduling.domain.level_periods import Capacity, Per
from scheduling.forms.plain import PlainForm, day_field

MOST = 100_000


class LevelForm(PlainForm):
    """A capacity and a stretch of days."""

    optional_words = ""
    widths = {"number": "quarter", "per": "quarter", "first": "quarter", "last": "quarter"}

    number = forms.IntegerField(
        label="Tests",
        min_value=1,
        max_value=MOST,
        error_messages={
            "required": "Say how many tests can be done.",
            "invalid": "Write a whole number.",
            "min_value": "Allow at least one test.",
            "max_value": f"At most {MOST:,}.",
        },
    )
    per = forms.ChoiceField(label="in a", choices=[(one.value, one.value) for one in Per])
    first = day_field("From")
    last = day_field("To")

    def clean(self) -> dict[str, Any]:
        """The stretch runs forward."""
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last")
        if isinstance(first, date) and isinstance(last, date) and last < first:
            self.add_error("last", f"{last} lies before {first}.")
        return told

    @property
    def wish(self) -> Wish:
        """What is asked; of a form that holds."""
        told = self.cleaned_data
        capacity = Capacity(number=told["number"], per=Per(told["per"]))
        return Wish(capacity=capacity, first=told["first"], last=told["last"])
