"""Forms of the registry: premises, connection, assembly, party, tester, gauge."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from registry.domain.kinds import AssemblyType, Hazard, PartyRole, Protects, ServiceKind
from registry.domain.sizes import read_size
from registry.models import Party, ServiceConnection
from scheduling.forms.plain import DaysField, PlainForm, day_field, long_field, text_field

_HOURS = re.compile(r"^\s*(\d{1,2}):?(\d{2})?\s*(?:-|–|to)\s*(\d{1,2}):?(\d{2})?\s*$")
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _words(enum: Any) -> list[tuple[str, str]]:
    return [(one.value, one.value) for one in enum if one.value]


class PremisesForm(PlainForm):
    """A premises, and what a visit and a letter must respect there."""

    widths = {
        "account": "quarter", "zip": "quarter", "state": "quarter", "city": "quarter",
        "lat": "quarter", "lon": "quarter", "notice_days": "quarter", "language": "quarter",
        "use_since": "quarter",
        "has_medical_supply": "full", "has_combined_fire": "full", "has_tenants": "full",
        "address": "full", "open_hours": "full", "closed_days": "full", "access_notes": "full",
        "notes": "full", "shutdown_tell": "full", "shutdown_days": "quarter",
    }  # fmt: skip

    name = text_field("Name", help_text="as people there call it")
    use = text_field("Use", longest=120, help_text="e.g. clinic, car wash, dwelling")
    use_since = day_field(
        "A new use since",
        required=False,
        help_text="the day it changed; empty: the use was always so",
    )
    address = text_field("Address", required=True)
    city = text_field("City", longest=120)
    state = text_field("State", longest=40)
    zip = text_field("ZIP", longest=20)
    account = text_field("Account", longest=60)
    lat = forms.DecimalField(
        label="Latitude", required=False, min_value=-90, max_value=90, decimal_places=6
    )
    lon = forms.DecimalField(
        label="Longitude", required=False, min_value=-180, max_value=180, decimal_places=6
    )
    phone = text_field("Telephone on site", longest=60)
    notice_days = DaysField("Days of notice")
    language = forms.ChoiceField(
        label="Language",
        required=False,
        choices=[("", "as the program"), ("en", "English"), ("es", "Spanish")],
    )
    open_hours = text_field(
        "Open hours", help_text="e.g. mon 8:00-16:30; tue 8:00-12:00. Empty: any working hour"
    )
    closed_days = text_field("Closed days", longest=600, help_text="e.g. 2026-12-24, 2026-12-25")
    access_notes = long_field("Access", help_text="gate, key, dog, whom to ask")
    call_when = text_field("Best time to telephone", longest=120, help_text="e.g. mornings")
    shutdown_tell = text_field(
        "Whom to tell before the water goes off", help_text="name and telephone, e.g. the engineer"
    )
    shutdown_days = DaysField("Days before")
    has_medical_supply = forms.BooleanField(
        label="Somebody here depends on the water for medical treatment", required=False
    )
    has_combined_fire = forms.BooleanField(
        label="One service feeds both taps and fire sprinklers", required=False
    )
    has_tenants = forms.BooleanField(label="There are tenants besides the owner", required=False)
    notes = long_field("Notes of the office")

    def for_something_new(self) -> None:
        """What is new has no use before."""
        del self.fields["use_since"]

    def clean_open_hours(self) -> dict[str, list[list[str]]]:
        """`mon 8:00-12:00` as the hours of weekday 0."""
        hours: dict[str, list[list[str]]] = {}
        for part in filter(None, map(str.strip, self.cleaned_data["open_hours"].split(";"))):
            day, _, span = part.partition(" ")
            found = _HOURS.match(span)
            if day[:3].lower() not in _DAYS or not found:
                raise forms.ValidationError(f"“{part}” is no day with hours. Write mon 8:00-16:30.")
            opens, closes = _clock(found[1], found[2]), _clock(found[3], found[4])
            if not opens < closes <= "24:00":
                raise forms.ValidationError(f"“{part}” ends before it begins. Write 8:00-16:30.")
            hours.setdefault(str(_DAYS.index(day[:3].lower())), []).append([opens, closes])
        return hours

    def clean_closed_days(self) -> list[str]:
        """ISO dates."""
        days: list[str] = []
        for part in re.split(r"[,;\s]+", self.cleaned_data["closed_days"].strip()):
            if not part:
                continue
            try:
                days.append(date.fromisoformat(part).isoformat())
            except ValueError as error:
                raise forms.ValidationError(f"“{part}” is no date. Write 2026-12-24.") from error
        return sorted(set(days))

    def clean(self) -> dict[str, Any]:
        """Latitude and longitude come together or not at all."""
        found = super().clean() or self.cleaned_data
        if (found.get("lat") is None) != (found.get("lon") is None):
            self.add_error("lon", "Give both latitude and longitude, or neither.")
        if found.get("use_since") and found.get("use") == self.initial.get("use"):
            self.add_error("use_since", "The use is the one on record. Write the new use above.")
        return found


def _clock(hour: str, minute: str | None) -> str:
    return f"{int(hour):02d}:{minute or '00'}"


class ChangeForm(PlainForm):
    """Since when a change of what rules ask about holds."""

    ALWAYS, SINCE = "always", "since"

    holds = forms.ChoiceField(
        label="Since when it holds",
        required=False,
        choices=[
            (ALWAYS, "it was always so: a mistake is mended, and the past is worked out again"),
            (SINCE, "it holds from the day below: what was before stays"),
        ],
        help_text="for type, service and what it protects; other fields have no history",
    )
    since = day_field("From that day on", required=False)

    def clean(self) -> dict[str, Any]:
        """A day stands only with a change that holds from it."""
        told = super().clean() or self.cleaned_data
        is_dated = told.get("holds") == self.SINCE
        if is_dated and not told.get("since") and "since" not in self.errors:
            self.add_error("since", "Say from which day on it holds.")
        if not is_dated and told.get("since"):
            self.add_error("since", "Say above that it holds from this day on, or leave it empty.")
        return told

    def for_something_new(self) -> None:
        """What is new has no past."""
        del self.fields["holds"], self.fields["since"]


_YES_OR_NO = [("", "not recorded"), ("yes", "yes"), ("no", "no")]


def yes_or_no(label: str, *, help_text: str) -> forms.TypedChoiceField:
    """Yes, no, or nobody recorded it: None."""
    return forms.TypedChoiceField(
        label=label,
        choices=_YES_OR_NO,
        required=False,
        coerce={"yes": True, "no": False}.__getitem__,
        empty_value=None,
        help_text=help_text,
    )


def said_yes_or_no(value: bool | None) -> str:
    """What such a field shows of a stored value."""
    return "" if value is None else "yes" if value else "no"


class ConnectionForm(ChangeForm):
    """A service connection, with what rules ask about it."""

    widths = {"holds": "full"}
    field_order = ["kind", "name", "has_chemicals", "runs_part_year", "holds", "since"]
    kind = forms.ChoiceField(
        label="Service", choices=[("", "not recorded"), *_words(ServiceKind)], required=False
    )
    name = text_field("Name", longest=120, help_text="where there are several of a kind")
    has_chemicals = yes_or_no(
        "Chemicals are fed into it", help_text="not recorded is treated as yes, the stricter"
    )
    runs_part_year = yes_or_no(
        "It runs less than six months a year", help_text="not recorded is treated as no"
    )


class AssemblyForm(ChangeForm):
    """An assembly as its tag and its place say."""

    widths = {"type": "quarter", "size": "quarter", "location": "full", "notes": "full",
              "reason": "full", "holds": "full"}  # fmt: skip
    field_order = [
        *("serial", "maker", "model", "type", "size", "connection", "protects", "holds", "since"),
        *("hazard", "location", "in_vault", "permit_space", "has_twin", "installed_on", "notes"),
        "reason",
    ]

    serial = text_field("Serial", required=True, longest=120)
    maker = text_field("Maker", longest=120)
    model = text_field("Model", longest=120)
    type = forms.ChoiceField(label="Type", choices=_words(AssemblyType))
    size = text_field("Size", required=True, longest=20, help_text="inches: 3/4, 1.5")
    connection = forms.ModelChoiceField(
        label="Service connection",
        queryset=ServiceConnection.objects.none(),
        empty_label=None,
        error_messages={"required": "Choose a connection; add one to the premises first."},
    )
    protects = forms.ChoiceField(
        label="Protects",
        choices=_words(Protects),
        help_text="containment: the main; isolation: a fixture",
    )
    hazard = forms.ChoiceField(
        label="Hazard",
        choices=_words(Hazard),
        help_text="not assessed is treated as high until somebody looks",
    )
    location = text_field("Where it is", help_text="so that a stranger finds it")
    in_vault = forms.BooleanField(label="It is in a vault or pit", required=False)
    permit_space = yes_or_no(
        "It stands in a permit space",
        help_text="a confined space that asks for a permit (29 CFR 1910.146): two people at once",
    )
    has_twin = forms.BooleanField(
        label="A second one stands in parallel: the water need not go off", required=False
    )
    installed_on = day_field("Installed on", required=False)
    notes = long_field("Notes of the office")
    reason = text_field("Why", longest=500, help_text="kept with the change")

    def clean_size(self) -> Decimal:
        """A size as sheets write it."""
        try:
            size = read_size(self.cleaned_data["size"]).value
        except (ValueError, InvalidOperation) as error:
            raise forms.ValidationError(str(error)) from error
        if size is None:
            raise forms.ValidationError("Write a size in inches: 3/4, 1.5, 2.")
        return Decimal(size)


class PartyForm(PlainForm):
    """A party with the address letters go to."""

    widths = {"address": "full", "city": "third", "state": "third", "zip": "third"}

    name = text_field("Name", required=True)
    language = forms.ChoiceField(label="Language", choices=[("en", "English"), ("es", "Spanish")])
    address = text_field("Mailing address", help_text="without it no letter can go")
    city = text_field("City", longest=120)
    state = text_field("State", longest=40)
    zip = text_field("ZIP", longest=20)
    email = forms.EmailField(
        label="E-mail", required=False, error_messages={"invalid": "This is no e-mail address."}
    )
    phone = text_field("Telephone", longest=60)


class RoleForm(PlainForm):
    """What a party is to a premises, since when."""

    role = forms.ChoiceField(label="Role", choices=_words(PartyRole))
    since_on = day_field("Since")
    party = forms.ModelChoiceField(
        label="A party on record",
        queryset=Party.objects.none(),
        required=False,
        empty_label="someone new, named below",
    )


class TesterForm(PlainForm):
    """A tester and one term of the certificate."""

    firm = text_field("Testing company", required=True, longest=200)
    certificate = text_field("Certificate", required=True, longest=60)
    name = text_field("Name", longest=200)
    issued_by = text_field("Issued by", longest=120)
    valid_from = day_field("Valid from")
    valid_to = day_field("Valid to")


class GaugeForm(PlainForm):
    """A gauge and one calibration."""

    firm = text_field("Testing company", required=True, longest=200)
    serial = text_field("Serial", required=True, longest=60)
    calibrated_on = day_field("Calibrated on")
