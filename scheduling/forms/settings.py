"""The form of a program's settings: letterhead, contacts, zone, go-live day, letters a day."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django import forms

from registry.domain.kinds import DateOrder
from scheduling.forms.plain import PlainForm, day_field, long_field, text_field


class SettingsForm(PlainForm):
    """What an administrator sets for a program."""

    optional_words = "if any"
    widths = {
        "name": "full",
        "line": "full",
        "state": "quarter",
        "letters_a_day": "quarter",
        "attestation": "full",
        "papers_by_two": "full",
    }

    name = text_field("Name of the program", required=True, longest=200)
    head = text_field("Name on letters", longest=200, help_text="empty: the name above")
    line = text_field("Line under it", longest=300, help_text="office, street, town")
    phone = text_field("Telephone", longest=60)
    hours = text_field("Hours", longest=120, help_text="e.g. weekdays 8 to 4:30")
    email = forms.EmailField(
        label="E-mail", required=False, error_messages={"invalid": "This is no e-mail address."}
    )
    web = text_field("Web address", longest=200)
    zone = text_field("Time zone", required=True, longest=60, help_text="e.g. America/Los_Angeles")
    state = text_field("State", longest=2, help_text="two letters; checks ZIPs")
    date_order = forms.ChoiceField(
        label="Dates in figures", choices=[(one.value, one.value) for one in DateOrder]
    )
    go_live_on = day_field(
        "Go-live day", required=False, help_text="nothing leaves before it; empty: nothing leaves"
    )
    letters_a_day = forms.IntegerField(
        label="Letters a day",
        required=False,
        min_value=0,
        max_value=100_000,
        help_text="at most; empty: no limit",
    )
    attestation = long_field(
        "What a tester signs under",
        help_text="word for word, as the rulebook or the office asks; empty: our own sentence",
    )
    papers_by_two = forms.BooleanField(
        label="Reports on paper are keyed by two people",
        required=False,
        help_text="the second does not see what the first read; differences are shown",
    )

    def clean_zone(self) -> str:
        """A zone of the IANA database."""
        zone = str(self.cleaned_data["zone"])
        if zone not in available_timezones():
            raise forms.ValidationError(f"“{zone}” is no time zone. Write America/Los_Angeles.")
        return zone

    def clean_state(self) -> str:
        """Two letters, upper case."""
        return str(self.cleaned_data["state"]).upper()

    def letterhead(self, before: dict[str, Any]) -> dict[str, Any]:
        """The letterhead with what the form says of it; other keys stay."""
        told = self.cleaned_data
        lines = [told["line"]] if told["line"] else []
        return {
            **before,
            "name": told["head"],
            "lines": lines,
            "phone": told["phone"],
            "hours": told["hours"],
            "email": told["email"],
            "web": told["web"],
            "attestation": told["attestation"].strip(),
            "papers_by_two": told["papers_by_two"],
        }
