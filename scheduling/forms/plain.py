"""A form in the house hand: no NUL, dates as dates, errors tied to their fields."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms


class DateBox(forms.DateInput):
    """A date field the browser may help with; it posts ISO."""

    input_type = "date"

    def __init__(self, **options: Any) -> None:
        super().__init__(format="%Y-%m-%d", **options)


def day_field(label: str, *, required: bool = True, help_text: str = "") -> forms.DateField:
    """A day, written with the browser's help or as 2026-11-25."""
    return forms.DateField(
        label=label,
        required=required,
        help_text=help_text,
        widget=DateBox(),
        error_messages={
            "invalid": "This is no date. Write 2026-11-25.",
            "required": "A day is needed here.",
        },
    )


def text_field(
    label: str, *, required: bool = False, longest: int = 300, help_text: str = ""
) -> forms.CharField:
    """One line of text."""
    return forms.CharField(
        label=label,
        required=required,
        max_length=longest,
        help_text=help_text,
        error_messages={
            "required": f"{label} is needed.",
            "max_length": f"At most {longest} characters.",
            "null_characters_not_allowed": "One character cannot be kept. Write it again.",
        },
    )


def long_field(label: str, *, help_text: str = "") -> forms.CharField:
    """A few lines of text."""
    return forms.CharField(
        label=label,
        required=False,
        max_length=4000,
        help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class DaysField(forms.IntegerField):
    """A number of days, at most sixty; blank is none."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, required=False, min_value=0, max_value=60)

    def clean(self, value: Any) -> int:
        """As the form keeps it."""
        return int(super().clean(value) or 0)


class PlainForm(forms.Form):
    """A form whose fields in error are marked for readers, and which knows each field's width."""

    widths: dict[str, str] = {}
    optional_words = "if known"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""

    @property
    def shown(self) -> list[tuple[forms.BoundField, str]]:
        """Fields with the width class each takes."""
        return [(field, self.widths.get(field.name, "")) for field in self.visible_fields()]


class HappenedForm(PlainForm):
    """A form of something that happened: its day ``on`` is not after the program's ``today``."""

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._today = today

    def clean_on(self) -> date:
        """A fact has happened: no day after today."""
        on: date = self.cleaned_data["on"]
        if on > self._today:
            raise forms.ValidationError("That day has not come yet. Record it when it happened.")
        return on
