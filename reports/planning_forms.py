"""Forms of planning: a job, a call, what is not wanted, how a program plans, a tester's days."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from registry.models import Firm, Tester
from reports.domain.day_lists import NoDayError, days_in
from reports.models import CallMade
from reports.rounds.needs import SKILLS
from scheduling.domain.rounds.staying import USUAL_MINUTES
from scheduling.forms.plain import PlainForm, day_field, text_field
from scheduling.forms.registry import PremisesForm

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class JobForm(PlainForm):
    """What a customer asked for."""

    optional_words = ""
    widths = {"notes": "full", "bill_to": "full"}

    asked_by = text_field("Who asked for it", required=True, longest=200)
    asked_on = day_field("When")
    covers_until = day_field(
        "It covers what falls due by", required=False, help_text="Empty: until it is cancelled"
    )
    firm = forms.ModelChoiceField(
        label="Testing company",
        queryset=Firm.objects.none(),
        required=False,
        empty_label="any that is approved",
    )
    bill_to = text_field("Bill to", help_text="Empty: whoever asked")
    repair_up_to = forms.DecimalField(
        label="Repair up to, dollars",
        required=False,
        min_value=0,
        max_digits=9,
        decimal_places=2,
        help_text="Empty: ask before any repair",
    )
    notes = text_field("Notes", longest=500)

    def choose_among(self, firms: QuerySet[Firm], *, is_needed: bool = False) -> None:
        """The companies to choose from; where one ``is_needed``, a single one is chosen."""
        field = self.fields["firm"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = firms
        if is_needed:
            field.required = True
            field.empty_label = "choose one"
            field.error_messages["required"] = "Say which of your companies was asked."
            found = list(firms[:2])
            if len(found) == 1:
                field.empty_label = None
                self.initial["firm"] = found[0].pk


class CancelForm(PlainForm):
    """Why a job is cancelled."""

    why = text_field("Why it is cancelled", required=True)


class CallForm(PlainForm):
    """What came of a call."""

    optional_words = ""
    widths = {"words": "full"}

    outcome = forms.ChoiceField(
        label="What came of it", choices=CallMade.OUTCOMES, widget=forms.RadioSelect
    )
    again_on = day_field("Call again on", required=False)
    words = text_field("In words", help_text="who it was, what was said")


class WishForm(PlainForm):
    """Who or which day is not wanted."""

    optional_words = ""
    widths = {"reason": "full"}

    tester = forms.ModelChoiceField(
        label="Tester", queryset=Tester.objects.none(), required=False, empty_label="nobody at all"
    )
    weekday = forms.TypedChoiceField(
        label="Weekday",
        choices=[("", "any day"), *((str(n), name) for n, name in enumerate(WEEKDAYS))],
        required=False,
        coerce=int,
        empty_value=None,
    )
    on = day_field("One day only", required=False)
    until_on = day_field("Until", required=False, help_text="The last day it holds")
    reason = text_field("Why", required=True, help_text="as the customer said it")


class RulesForm(PlainForm):
    """How a program plans its days."""

    optional_words = ""
    widths = {
        "due_is_assigned": "full",
        "learns_minutes": "full",
        "places_by_zip": "full",
        "holidays_off": "full",
        "stay_minutes": "full",
        "parts_from_in": "full",
    }

    due_is_assigned = forms.TypedChoiceField(
        label="What may be planned",
        choices=[
            ("yes", "all that is due counts as assigned"),
            ("no", "only what a person assigned or a customer asked for"),
        ],
        coerce={"yes": True, "no": False}.__getitem__,
    )
    learns_minutes = forms.BooleanField(
        label="Learn the minutes of a test from past reports, where there are enough",
        required=False,
    )
    places_by_zip = forms.BooleanField(
        label="Place premises without coordinates in the middle of their ZIP code, marked",
        required=False,
    )
    holidays_off = forms.BooleanField(
        label="Plan nobody on public holidays of the state", required=False
    )
    stay_minutes = forms.IntegerField(
        label="Move a planned visit only to save more driving than, minutes",
        required=False,
        min_value=0,
        max_value=240,
        help_text="When days are planned again: each move is a call to make. "
        "0: move whatever saves anything. What was promised never moves.",
    )

    parts_from_in = forms.DecimalField(
        label="Parts are brought for assemblies from this size on, inches",
        required=False,
        min_value=0,
        max_digits=6,
        decimal_places=3,
        help_text="Each takes a place in the van; how many there are, How testers work says. "
        "Empty: not counted",
    )

    def clean_stay_minutes(self) -> int:
        """Empty: as usual."""
        minutes = self.cleaned_data["stay_minutes"]
        return USUAL_MINUTES if minutes is None else int(minutes)


class LunchForm(PlainForm):
    """A lunch: minutes, and the window it lies in."""

    optional_words = ""
    lunch_minutes = forms.IntegerField(
        label="Lunch, minutes", required=False, min_value=0, max_value=120
    )
    lunch_from = forms.TimeField(
        label="No sooner than", required=False, help_text="11:00", widget=forms.TextInput
    )
    lunch_to = forms.TimeField(
        label="Over by", required=False, help_text="13:30", widget=forms.TextInput
    )

    def clean(self) -> dict[str, Any]:
        """The window ends after it begins."""
        told = super().clean() or self.cleaned_data
        since, until = told.get("lunch_from"), told.get("lunch_to")
        if since and until and until <= since:
            self.add_error("lunch_to", "It ends before it begins. Write 11:00 and 13:30.")
        return told


class TesterDaysForm(LunchForm):
    """A tester's days: hours, days off, where they start, what they bring, lunch."""

    widths = {
        "hours": "full",
        "days_off": "full",
        "skills": "full",
        "depot_lat": "quarter",
        "depot_lon": "quarter",
        "most_visits": "quarter",
        "van_places": "quarter",
        "lunch_minutes": "quarter",
    }
    field_order = [
        "hours",
        "days_off",
        "depot_lat",
        "depot_lon",
        "most_visits",
        "van_places",
        "skills",
    ]

    hours = text_field(
        "Hours", longest=600, help_text="e.g. mon 8:00-16:30; tue 8:00-12:00. Empty: the usual ones"
    )
    days_off = text_field(
        "Days off", longest=2000, help_text="e.g. December 24, 2026; December 25, 2026"
    )
    depot_lat = forms.DecimalField(
        label="Starts at latitude", required=False, min_value=-90, max_value=90, decimal_places=6
    )
    depot_lon = forms.DecimalField(
        label="Longitude", required=False, min_value=-180, max_value=180, decimal_places=6
    )
    most_visits = forms.IntegerField(
        label="Most visits a day", required=False, min_value=1, max_value=60
    )
    van_places = forms.IntegerField(
        label="Places in the van",
        required=False,
        min_value=0,
        max_value=200,
        help_text="For parts. Empty: enough",
    )
    skills = forms.MultipleChoiceField(
        label="Skills",
        choices=[(skill, skill) for skill in SKILLS],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="A permit space takes two people with confined space, of one company",
    )

    def clean_hours(self) -> dict[str, list[list[str]]]:
        """As the open hours of a premises are written."""
        self.cleaned_data["open_hours"] = self.cleaned_data["hours"]
        return PremisesForm.clean_open_hours(self)  # type: ignore[arg-type]

    def clean_days_off(self) -> list[str]:
        """ISO dates."""
        try:
            return [on.isoformat() for on in days_in(self.cleaned_data["days_off"])]
        except NoDayError as error:
            raise forms.ValidationError(
                f"“{error}” is no date. Write December 24, 2026."
            ) from error

    def clean(self) -> dict[str, Any]:
        """Latitude and longitude come together or not at all."""
        told = super().clean()
        if (told.get("depot_lat") is None) != (told.get("depot_lon") is None):
            self.add_error("depot_lon", "Give both latitude and longitude, or neither.")
        told.pop("open_hours", None)
        return told
