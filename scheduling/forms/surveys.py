"""Forms of a survey of a premises, and of what happened to a service or was decided about it."""

from __future__ import annotations

from typing import Any

from django import forms

from registry.domain.kinds import Hazard
from scheduling.domain.decisions import Decision, decision_faults
from scheduling.domain.facts import FactKind
from scheduling.forms.plain import HappenedForm, PlainForm, day_field, text_field

_DECIDED = (
    (FactKind.EXTENDED.value, "the due day is extended"),
    (FactKind.HELD.value, "held: no letter leaves and nobody becomes overdue"),
    (FactKind.STOPPED.value, "the clock of letters is stopped"),
    (FactKind.RESTARTED.value, "the stopped clock of letters runs again"),
    (FactKind.EXEMPTED.value, "exempted: nothing is asked"),
    (FactKind.INCLUDED.value, "the exemption has ended"),
)
_OF_SERVICES = (
    ("What happened", [(FactKind.REMOVED.value, "disconnected from the main")]),
    ("What was decided", _DECIDED),
)


class SurveyForm(PlainForm):
    """What somebody found at a premises."""

    widths = {"finding": "full", "asks_for": "full"}

    on = day_field("Surveyed on")
    hazard = forms.ChoiceField(
        label="Hazard found",
        choices=[(Hazard.HIGH.value, "high"), (Hazard.LOW.value, "low")],
        help_text="of the premises as a whole",
    )
    finding = text_field("What was found", longest=1000, help_text="kept with the survey")
    asks_for = text_field(
        "Protection it asks for", longest=120, help_text="in the surveyor’s words, if any"
    )


class ServiceFactForm(HappenedForm):
    """What happened to a service connection, or was decided about what it owes."""

    widths = {"reason": "full"}

    kind = forms.ChoiceField(label="What", choices=_OF_SERVICES)
    on = day_field("On")
    until = day_field(
        "Until",
        required=False,
        help_text="of a decision: the new due day, a hold’s last day, the day to look again",
    )
    approved_by = text_field("Approved by", longest=150, help_text="of a decision")
    reason = text_field("Reason, or how we know", longest=500, help_text="kept with the fact")

    def clean(self) -> dict[str, Any]:
        """A decision has a reason, who approved it, and an end where its kind needs one."""
        told = super().clean() or self.cleaned_data
        if "kind" not in told or "on" not in told or "until" in self.errors:
            return told
        kind = FactKind(told["kind"])
        if kind is FactKind.REMOVED:
            return told
        decision = Decision(
            kind=kind,
            on=told["on"],
            until=told.get("until"),
            reason=told.get("reason", ""),
            approved_by=told.get("approved_by", ""),
            members=("it",),
        )
        for field, said in decision_faults(decision).items():
            self.add_error(field if field in self.fields else None, said)
        return told


class PremisesFactForm(ServiceFactForm):
    """What was decided about the surveys of a premises."""

    kind = forms.ChoiceField(label="What", choices=_DECIDED)
