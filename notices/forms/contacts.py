"""Forms of what people say: a contact, an objection and its decision, letters that came back."""

from __future__ import annotations

from secrets import token_hex
from typing import Any

from django import forms

from notices.domain.contacts import ContactKind
from notices.domain.objections import ObjectionKind
from notices.domain.returns import CameBack
from registry.models import Assembly, Premises
from scheduling.forms.plain import PlainForm, day_field, long_field, text_field


def _one_of(label: str, words: type[Any]) -> forms.ChoiceField:
    choices = [(one.value, one.value.capitalize()) for one in words]
    return forms.ChoiceField(label=label, choices=choices)


def _said(label: str, *, help_text: str = "") -> forms.CharField:
    field = long_field(label, help_text=help_text)
    field.required, field.max_length = True, 2000
    field.error_messages["required"] = f"{label} is needed."
    return field


class ContactForm(PlainForm):
    """Who spoke with whom, and what was said; a promise names its day."""

    widths = {"words": "full"}
    optional_words = "if any"
    form_key = forms.CharField(widget=forms.HiddenInput, max_length=40, required=False)
    kind = _one_of("How", ContactKind)
    on = day_field("On")
    spoken_with = text_field("With whom", longest=200)
    promised_for = day_field(
        "Promised for",
        required=False,
        help_text="the day of a booked test or visit, where one was promised",
    )
    assembly = forms.ModelChoiceField(
        label="About", queryset=Assembly.objects.none(), required=False, empty_label="all of it"
    )
    words = _said("What was said")

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["assembly"].queryset = Assembly.objects.filter(  # type: ignore[attr-defined]
            premises=premises
        ).order_by("serial")
        self.initial.setdefault("form_key", token_hex(16))


class ObjectionForm(PlainForm):
    """Who objects to what, and by when a person looks at it."""

    widths = {"words": "full"}
    kind = _one_of("What it is", ObjectionKind)
    raised_by = text_field("Who objects", required=True, longest=200)
    raised_on = day_field("Came in on")
    review_on = day_field(
        "To be looked at by", help_text="until it is decided no letter leaves for the premises"
    )
    words = _said("What they say is wrong")


class VerdictForm(PlainForm):
    """How an objection is decided, by whom by name, and why."""

    widths = {"decision": "full"}
    outcome = forms.ChoiceField(
        label="Decision",
        choices=[
            ("", "Choose"),
            ("rejected", "Rejected: the notices stand"),
            ("upheld", "Upheld: the notices count for nothing"),
        ],
        error_messages={"required": "Say whether it is upheld or rejected."},
    )
    decided_by = text_field("Decided by, name and office", required=True, longest=150)
    excused_until = day_field(
        "Excused until",
        required=False,
        help_text="upheld only: nothing is asked until this review day; left out, letters follow"
        " the record as it is mended",
    )
    decision = _said("Why", help_text="the letter about the decision says it")


class ReturnedForm(PlainForm):
    """Letters that came back: scans, numbers or short codes, one a line."""

    widths = {"codes": "full"}
    optional_words = "if any"
    how = _one_of("What the post says", CameBack)
    on = day_field("Came back on")
    words = text_field("Remark", longest=500)
    codes = _said(
        "Letters", help_text="scan the square, or write number, short code or certified number"
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        codes = self.fields["codes"]
        codes.max_length = 50_000  # type: ignore[attr-defined]
        codes.validators = []
        codes.widget.attrs["rows"] = 6


class AddressForm(PlainForm):
    """Another mailing address of a recipient."""

    optional_words = "left out: as now on record"
    address = text_field("Street or box")
    city = text_field("City", longest=120)
    state = text_field("State", longest=40)
    zip = text_field("ZIP", longest=20)
