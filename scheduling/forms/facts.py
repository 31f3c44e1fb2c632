"""Forms of facts: what happened on which day; and why one is withdrawn."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from scheduling.domain.facts import FactKind
from scheduling.forms.plain import PlainForm, day_field, text_field

BY_HAND = (
    (FactKind.INSTALLED, "installed"),
    (FactKind.PASSED, "a test passed, as stated (no readings)"),
    (FactKind.FAILED, "a test failed, as stated (no readings)"),
    (FactKind.REPAIRED, "repaired"),
    (FactKind.RELOCATED, "relocated"),
    (FactKind.IDLED, "taken out of use (idle)"),
    (FactKind.RESUMED, "back in use"),
    (FactKind.EXTENDED, "the due day was extended"),
    (FactKind.INCIDENT, "a backflow incident"),
    (FactKind.REMOVED, "removed"),
)
"""Facts a person may record; a hazard is assessed on the assembly's own form."""


class FactForm(PlainForm):
    """One fact."""

    widths = {"words": "full", "reason": "full"}

    kind = forms.ChoiceField(label="What happened", choices=[(k.value, w) for k, w in BY_HAND])
    on = day_field("On")
    until = day_field("New due day", required=False, help_text="only for an extension")
    words = text_field("In a few words", longest=120, help_text="e.g. relief valve kit replaced")
    reason = text_field("How we know", longest=500, help_text="kept with the fact")

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._today = today

    def clean_on(self) -> date:
        """A fact has happened: no day after today."""
        on: date = self.cleaned_data["on"]
        if on > self._today:
            raise forms.ValidationError("That day has not come yet. Record it when it happened.")
        return on

    def clean(self) -> dict[str, Any]:
        """Only an extension has a new due day, and it needs one."""
        told = super().clean() or self.cleaned_data
        is_extension = told.get("kind") == FactKind.EXTENDED
        if is_extension and not told.get("until") and "until" not in self.errors:
            self.add_error("until", "An extension needs the new due day.")
        if not is_extension and told.get("until"):
            self.add_error("until", "Only an extension has a new due day. Leave this empty.")
        return told


class WithdrawForm(PlainForm):
    """Why a fact is withdrawn."""

    widths = {"reason": "full"}

    reason = text_field(
        "Why it is wrong", required=True, longest=500, help_text="kept; the fact stays on the page"
    )
