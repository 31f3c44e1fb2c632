"""The form by which an assembly found in the field is written into the registry."""

from __future__ import annotations

from decimal import Decimal

from django import forms

from registry.domain.cells import UnreadableCellError
from registry.domain.kinds import UNTESTED_TYPES, AssemblyType
from registry.domain.sizes import read_size
from scheduling.forms.plain import PlainForm, text_field

AS_NEW, AS_REPLACEMENT = "new", "replacement"


class FoundForm(PlainForm):
    """What it is, where it stands, and whether it took another's place."""

    widths = {"how": "full", "address": "full", "location": "full"}

    how = forms.ChoiceField(
        label="It is",
        choices=[
            (AS_NEW, "One the registry did not know"),
            (AS_REPLACEMENT, "The replacement of one that was taken out"),
        ],
    )
    old_serial = text_field("Serial of the one it replaces", longest=120)
    type = forms.ChoiceField(
        label="Type", choices=[(one.value, one.value) for one in AssemblyType
                               if one not in UNTESTED_TYPES]
    )  # fmt: skip
    serial = text_field("Serial", required=True, longest=120)
    maker = text_field("Maker", longest=120)
    model = text_field("Model", longest=120)
    size = text_field("Size, inches", required=True, longest=20)
    location = text_field("Where on the site")
    premises = text_field(
        "Number of the premises", longest=18,
        help_text="From the list above; empty: a new premises at this address",
    )  # fmt: skip
    address = text_field("Service address")
    city = text_field("City", longest=120)
    was_installed_now = forms.BooleanField(
        label="It was installed on the day of the test", required=False
    )

    def clean_size(self) -> Decimal:
        """The size as a figure."""
        try:
            return read_size(self.cleaned_data["size"]).value
        except UnreadableCellError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_premises(self) -> int | None:
        """The number of a premises, or None."""
        text = self.cleaned_data["premises"].strip()
        if not text:
            return None
        if not (text.isascii() and text.isdecimal()):
            raise forms.ValidationError("Write the number alone, as it stands in the list.")
        return int(text)
