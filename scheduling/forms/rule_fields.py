"""Fields of rule forms: steps in words, choices of several, and yes, no or either."""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from django import forms

from scheduling.domain.sentence_words import MONTHS
from scheduling.domain.sources import Mark

_STEP = re.compile(r"(?P<number>\d{1,3}) *(?P<unit>year|month|week|day)s?", re.IGNORECASE)
_DAY = re.compile(r"(?P<month>[A-Za-z]+) +(?P<day>\d{1,2})")
_FREQ = {"year": "YEARLY", "month": "MONTHLY", "week": "WEEKLY", "day": "DAILY"}


def recurrence(words: str) -> str:
    """Return the recurrence rule meant by `6 months`, `1 year` or `May 31`, else the words."""
    said = words.strip()
    step = _STEP.fullmatch(said)
    if step:
        freq, number = _FREQ[step["unit"].lower()], int(step["number"])
        return f"FREQ={freq}" if number == 1 else f"FREQ={freq};INTERVAL={number}"
    day = _DAY.fullmatch(said)
    if day and day["month"].capitalize() in MONTHS:
        month = MONTHS.index(day["month"].capitalize()) + 1
        return f"FREQ=YEARLY;BYMONTH={month};BYMONTHDAY={int(day['day'])}"
    return said


def step_words(text: str) -> str:
    """Return a kept recurrence rule as a person writes it: `FREQ=YEARLY` as `1 year`."""
    plain = re.fullmatch(r"FREQ=(YEARLY|MONTHLY|WEEKLY|DAILY)(?:;INTERVAL=(\d+))?", text)
    if plain:
        unit = next(word for word, freq in _FREQ.items() if freq == plain[1])
        number = int(plain[2] or 1)
        return f"{number} {unit}{'' if number == 1 else 's'}"
    season = re.fullmatch(r"FREQ=YEARLY;BYMONTH=(\d+);BYMONTHDAY=(\d+)", text)
    if season and 1 <= int(season[1]) <= 12:
        return f"{MONTHS[int(season[1]) - 1]} {season[2]}"
    return text


class WordsField(forms.CharField):
    """A list of words, written with commas between."""

    def prepare_value(self, value: Any) -> Any:
        """Show a kept list as a person writes it."""
        return ", ".join(value) if isinstance(value, list | tuple) else value

    def clean(self, value: Any) -> Any:
        """Return the words, blanks left out."""
        said = super().clean(value)
        return [word.strip() for word in str(said).split(",") if word.strip()]


class StepField(forms.CharField):
    """A step such as `6 months`, a day such as `May 31`, or a recurrence rule."""

    def prepare_value(self, value: Any) -> Any:
        """Show a kept rule as a person writes it."""
        return step_words(value) if isinstance(value, str) else value

    def clean(self, value: Any) -> Any:
        """Return the rule as it is kept."""
        return recurrence(str(super().clean(value)))


class EitherField(forms.ChoiceField):
    """Yes, no, or either, which asks nothing."""

    def __init__(self, *, label: str, yes: str, no: str) -> None:
        choices = [("", "either"), ("yes", yes), ("no", no)]
        super().__init__(label=label, choices=choices, required=False)

    def prepare_value(self, value: Any) -> Any:
        """Show a kept true or false as its choice."""
        return {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else value

    def clean(self, value: Any) -> Any:
        """Return true, false, or None for either."""
        return {"yes": True, "no": False}.get(str(super().clean(value)))


def several(label: str, choices: Iterable[StrEnum], *, help_text: str = "") -> Any:
    """Any number of a closed list."""
    return forms.MultipleChoiceField(
        label=label,
        choices=[(one.value, one.value or "not recorded") for one in choices],
        required=False,
        help_text=help_text,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "along"}),
    )


def one_of(label: str, choices: Iterable[StrEnum], *, help_text: str = "") -> forms.ChoiceField:
    """One of a closed list."""
    listed = [(one.value, one.value) for one in choices if one.value]
    return forms.ChoiceField(label=label, choices=listed, help_text=help_text)


def whole(
    label: str, *, required: bool = True, least: int = 0, help_text: str = ""
) -> forms.IntegerField:
    """A whole number of days, months or times."""
    return forms.IntegerField(
        label=label,
        required=required,
        min_value=least,
        max_value=3660,
        help_text=help_text,
        error_messages={
            "required": f"{label}: a whole number is needed.",
            "invalid": "This is no whole number.",
            "min_value": f"Write {least} or more.",
            "max_value": "Write 3660 or less.",
        },
    )


def tick(label: str) -> forms.BooleanField:
    """A box to tick."""
    return forms.BooleanField(label=label, required=False)


def marks(label: str = "How far to trust it") -> forms.ChoiceField:
    """How far a rule may be trusted."""
    words = {
        Mark.UNMARKED: "not marked",
        Mark.READ: "read",
        Mark.MEMORY: "from memory",
        Mark.PRACTICE: "common practice",
        Mark.LOCAL: "set here",
    }
    return forms.ChoiceField(
        label=label,
        choices=[(one.value, said) for one, said in words.items()],
        required=False,
    )
