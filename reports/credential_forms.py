"""Forms of certificates and calibrations: a term, its early end, a calibration with its file."""

from __future__ import annotations

from django import forms

from scheduling.forms.plain import PlainForm, day_field, text_field


class TermForm(PlainForm):
    """One term of a certificate."""

    number = text_field("Number", longest=60, help_text="Empty: the tester’s own number")
    issued_by = text_field("Issued by", longest=120)
    classes = text_field(
        "Classes", longest=120, help_text="Types it covers, as RP, DC, PVB. Empty: every type"
    )
    valid_from = day_field("Valid from")
    valid_to = day_field("Valid to")


class EndForm(PlainForm):
    """A term that did not hold to its last day."""

    ended_on = day_field("From which day it did not hold")
    why = text_field("Why", required=True, help_text="Withdrawn, shortened, or entered wrongly")


class CalibrationForm(PlainForm):
    """One calibration."""

    calibrated_on = day_field("Calibrated on")
    as_found_error_psid = forms.DecimalField(
        label="Error as found, psid",
        required=False,
        max_digits=5,
        decimal_places=2,
        min_value=-50,
        max_value=50,
        help_text="Before it was adjusted, as −0.3",
    )
    certificate = forms.FileField(
        label="Certificate", required=False, help_text="PDF, JPEG or PNG, at most 5 MB"
    )


class StrikeForm(PlainForm):
    """A calibration that is wrong."""

    why = text_field("What is wrong with it", required=True)
