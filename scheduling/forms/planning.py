"""The form of a plan: from which day, for how many, how long to look."""

from __future__ import annotations

from django import forms

from scheduling.forms.plain import PlainForm, day_field

MOST_DAYS = 28
MOST_SECONDS = 600


class PlanForm(PlainForm):
    """A stretch of days, and the seconds after which the best plan so far is taken."""

    optional_words = ""
    widths = {"first": "quarter", "days": "quarter", "seconds": "quarter"}

    first = day_field("From")
    days = forms.IntegerField(
        label="Days",
        min_value=1,
        max_value=MOST_DAYS,
        error_messages={
            "required": "Say how many days.",
            "invalid": "Write a whole number.",
            "min_value": "Plan at least one day.",
            "max_value": f"Plan at most {MOST_DAYS} days at once.",
        },
    )
    seconds = forms.IntegerField(
        label="Look for so many seconds",
        min_value=1,
        max_value=MOST_SECONDS,
        error_messages={
            "required": "Say how long to look.",
            "invalid": "Write a whole number.",
            "min_value": "Look for at least one second.",
            "max_value": f"Look for at most {MOST_SECONDS} seconds.",
        },
    )
