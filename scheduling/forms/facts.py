"""Forms of facts: what happened on which day, or was decided; and why one is withdrawn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from scheduling.domain.decisions import Decision, decision_faults
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.forms.decisions import DECIDED
from scheduling.forms.plain import HappenedForm, PlainForm, day_field, text_field

HAPPENED = (
    (FactKind.INSTALLED, "installed"),
    (FactKind.PASSED, "passed, as stated (no readings)"),
    (FactKind.FAILED, "failed, as stated (no readings)"),
    (FactKind.UNTESTABLE, "visited, and could not be tested"),
    (FactKind.REPAIRED, "repaired"),
    (FactKind.RELOCATED, "relocated"),
    (FactKind.RESUMED, "back in use"),
    (FactKind.DEWINTERISED, "de-winterised: the water was turned on again"),
    (FactKind.REOCCUPIED, "the premises is occupied again"),
    (FactKind.INCIDENT, "a backflow incident"),
    (FactKind.RESTARTED, "the stopped clock of letters runs again"),
    (FactKind.INCLUDED, "the exemption has ended"),
    (FactKind.REMOVED, "removed"),
)
"""Facts a person may record; a hazard is assessed on the assembly's own form."""

_CHOICES = (
    ("What happened", [(kind.value, words) for kind, words in HAPPENED]),
    ("What was decided", [(kind.value, words) for kind, words in DECIDED]),
)
DECISIONS = frozenset(kind for kind, _ in DECIDED)
_OF_WORK = frozenset({FactKind.PASSED, FactKind.FAILED, FactKind.UNTESTABLE})


class FactForm(HappenedForm):
    """One fact, or a decision about one assembly."""

    optional_words = "if it applies"
    widths = {"words": "full", "reason": "full"}

    kind = forms.ChoiceField(label="What", choices=_CHOICES)
    on = day_field("On")
    work = forms.ChoiceField(label="Kind of work", required=False)
    hindrance = forms.ChoiceField(
        label="What stood in the way",
        required=False,
        choices=[("", "does not apply"), *((one.value, one.value) for one in Hindrance)],
    )
    until = day_field(
        "Until",
        required=False,
        help_text="of a decision: the new due day, a hold’s last day, the day to look again",
    )
    approved_by = text_field("Approved by", longest=150, help_text="of a decision")
    words = text_field("In a few words", longest=120, help_text="e.g. relief valve kit replaced")
    reason = text_field("Reason, or how we know", longest=500, help_text="kept with the fact")

    def __init__(
        self, *args: Any, today: date, works: Sequence[str] = ("test",), **kwargs: Any
    ) -> None:
        super().__init__(*args, today=today, **kwargs)
        self.fields["work"].choices = [(one, one) for one in works]  # type: ignore[attr-defined]
        if len(works) < 2:
            del self.fields["work"]

    @property
    def is_decision(self) -> bool:
        """Whether a person's decision is meant, which needs a reason and an approver."""
        return self.cleaned_data.get("kind") in DECISIONS

    def decision(self, member: str) -> Decision:
        """The decision about one assembly, of a form that was read."""
        told = self.cleaned_data
        return Decision(
            kind=FactKind(told["kind"]),
            on=told["on"],
            until=told.get("until"),
            reason=told.get("reason", ""),
            approved_by=told.get("approved_by", ""),
            members=(member,),
        )

    def clean(self) -> dict[str, Any]:
        """What belongs to a decision, to a test, to a visit in vain stands only with it."""
        told = super().clean() or self.cleaned_data
        if "kind" not in told:
            return told
        kind = FactKind(told["kind"])
        if self.is_decision:
            self._check_decision()
        elif told.get("until"):
            self.add_error("until", "Only a decision has an end. Leave this empty.")
        if kind is FactKind.UNTESTABLE and not told.get("hindrance"):
            self.add_error("hindrance", "Say what stood in the way; the rulebook asks for it.")
        if kind is not FactKind.UNTESTABLE and told.get("hindrance"):
            self.add_error("hindrance", "Only a visit in vain has one. Leave this empty.")
        if kind not in _OF_WORK:
            told["work"] = ""
        return told

    def _check_decision(self) -> None:
        if "on" not in self.cleaned_data or "until" in self.errors:
            return
        for field, said in decision_faults(self.decision("it")).items():
            self.add_error(field if field in self.fields else None, said)


class WithdrawForm(PlainForm):
    """Why a fact is withdrawn."""

    widths = {"reason": "full"}

    reason = text_field(
        "Why it is wrong", required=True, longest=500, help_text="kept; the fact stays on the page"
    )
