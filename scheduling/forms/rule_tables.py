"""Forms of the ladder, of kinds of work, of what backs a test, and of the head of a rulebook."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from scheduling.domain.matching import SubjectKind
from scheduling.domain.rungs import Recipient, Trigger
from scheduling.forms.plain import day_field, text_field
from scheduling.forms.rule_base import WIDE, Cited, Matched, RuleForm
from scheduling.forms.rule_fields import (
    WordsField,
    marks,
    one_of,
    several,
    tick,
    whole,
)
from scheduling.forms.rule_kinds import DaysForm


class KindForm(RuleForm):
    """A kind of obligation and what meets it."""

    part = "kind"
    widths = {"met_by": "full"}
    name = text_field("Kind of work", required=True, longest=30)
    met_by = WordsField(label="Met by", help_text="kinds of work, with commas between")
    subject = one_of("About", SubjectKind)


class RungForm(Matched):
    """A rung of the ladder."""

    part = "rung"
    widths = {**WIDE, "recipients": "full"}
    field_order = ["key", "trigger", "offset_days", "after", "gap_days", "channel"]
    key = text_field("Rung", required=True, longest=40, help_text="e.g. first-overdue")
    trigger = one_of("Counts from", Trigger)
    offset_days = forms.IntegerField(
        label="Days from there", required=False, min_value=-3660, max_value=3660,
        help_text="−45: 45 days before",
    )  # fmt: skip
    after = text_field("After the rung", longest=40, help_text="which must have left first")
    gap_days = whole("At least days after it left", required=False)
    presumed_days = whole("Received, presumed days later", required=False)
    latest_left_days = forms.IntegerField(
        label="Leaves at the latest", required=False, min_value=-3660, max_value=3660,
        help_text="days from where it counts",
    )  # fmt: skip
    from_delivery = tick("Counts from the recorded delivery, not from leaving")
    is_working = tick("Working days")
    repeat = text_field("Comes again", longest=120, help_text="e.g. FREQ=DAILY;INTERVAL=30;COUNT=3")
    without_day = tick("The day is not transcribed: it never leaves by itself")
    is_skippable = tick("A courtesy: skipped when late")
    is_required = tick("The law asks for it")
    needs_release = tick("A person releases it")
    is_order = tick("An order: only a person signs it")
    channel = text_field("Goes by", longest=30, help_text="mail, email, certified, door …")
    also_by = WordsField(label="And by", required=False, help_text="with commas between")
    recipients = several("To", Recipient, help_text="none ticked: the responsible party")
    letter = text_field(
        "Written as", longest=40, help_text="the kind of letter; empty: the one named as the rung"
    )
    languages = WordsField(label="In languages", required=False, help_text="en, es; with commas")
    kinds = WordsField(label="For kinds of work", required=False, help_text="empty: every kind")


class MethodForm(Cited):
    """By which method a test is judged."""

    part = "method"
    widths = {"citation": "full"}
    field_order = ["name"]
    name = text_field("Method", required=True, longest=40, help_text="usc9, usc10, iowa-city")


class CredentialsForm(Cited):
    """How long a calibration and a certificate hold."""

    part = "credentials"
    widths = {"citation": "full", "tester_citation": "full"}
    field_order = ["gauge_months"]
    citation = text_field("Citation for the gauge", longest=500)
    gauge_months = whole("A calibration holds months", required=False, least=1)
    tester_months = whole("A tester’s certificate holds months", required=False, least=1)
    tester_citation = text_field("Citation for the tester", longest=500)
    tester_number = text_field("Its number in the law", longest=60)
    tester_transcribed = day_field("It was transcribed on", required=False)
    tester_mark = marks("How far to trust that of the tester")

    @classmethod
    def initial_of(cls, cells: Mapping[str, Any]) -> dict[str, Any]:
        """Bring the tester's table beside the gauge's cells."""
        tester = cells.get("tester", {})
        rest = {name: value for name, value in cells.items() if name != "tester"}
        return {**rest, **{f"tester_{name}": value for name, value in tester.items()}}

    def cells(self) -> dict[str, Any]:
        """Return the gauge's cells, and the tester's as a table of its own."""
        found = super().cells()
        tester = {
            name: found.pop(f"tester_{name}")
            for name in ("months", "citation", "number", "transcribed", "mark")
            if f"tester_{name}" in found
        }
        return {**found, "tester": tester} if tester else found


class HeadForm(RuleForm):
    """Title, place and the law's own day."""

    widths = {"title": "full"}
    title = text_field("Title", required=True, longest=200)
    place = text_field("Place", longest=200)
    effective_on = day_field("The law’s own day", required=False)


class GraceForm(DaysForm):
    """Days of grace after an idle time."""

    part = "grace"


class NoDateForm(DaysForm):
    """Days where no date is known."""

    part = "no_date"


class TransitionForm(DaysForm):
    """Days a changed rule gives."""

    part = "transition"
