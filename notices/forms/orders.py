"""The forms around an order: days, the crew's report, proof, answers, fees, an emergency."""

from __future__ import annotations

from typing import Any

from django import forms

from notices.domain.shutoffs import AnswerKind, AnswerSays, FeeState, Proof
from registry.models import Premises, ServiceConnection
from scheduling.domain.rules import Provision
from scheduling.forms.plain import PlainForm, day_field, text_field


def _one_of(label: str, pairs: list[tuple[str, str]]) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=pairs,
        error_messages={"invalid_choice": "Choose one of the list.", "required": "Choose one."},
    )


class WorkDayForm(PlainForm):
    """The day on which the crew shuts the water off."""

    for_on = day_field("Shut off on", help_text="no closed day, nor the eve of one")


class CrewForm(PlainForm):
    """What the crew brought back."""

    on = day_field("Done on")
    at = forms.TimeField(
        label="Time",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}),
        error_messages={"invalid": "This is no time. Write 09:40."},
    )
    by = text_field("Done by", required=True, longest=150, help_text="the name on the paper")
    reading = text_field("Meter reading", longest=60)
    words = text_field("Remarks", longest=500)
    widths = {"words": "full", "at": "quarter"}
    optional_words = "if written"


class ProofForm(PlainForm):
    """What is there, so that water comes back."""

    proof = _one_of("What is there", [])
    on = day_field("Day", help_text="of the test, or for which it is booked")
    words = text_field("Which, by whom", longest=500, help_text="the firm, the report, the reason")
    widths = {"words": "full"}
    optional_words = "not needed for a passed test"

    def __init__(self, *args: Any, choices: list[Proof], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        said = {Proof.DECISION: "our decision, without a test"}
        self.fields["proof"].choices = [  # type: ignore[attr-defined]
            (one.value, said.get(one, one.value)) for one in choices
        ]


class AnswerForm(PlainForm):
    """What the fire department, or who needs the water, answered."""

    kind = _one_of(
        "Whose answer",
        [
            (AnswerKind.FIRE.value, "the fire department\u2019s"),
            (AnswerKind.MEDICAL.value, "of who needs the water for treatment"),
        ],
    )
    says = _one_of(
        "It says",
        [(AnswerSays.MAY.value, "water may go off"), (AnswerSays.STAYS.value, "water stays on")],
    )
    on = day_field("Answered on")
    by = text_field("Who answered", required=True, longest=200, help_text="name and office")
    words = text_field("In which words", required=True, longest=500)
    until = day_field("Holds until", required=False, help_text="its last day; empty: no end named")
    widths = {"words": "full"}


class FeeForm(PlainForm):
    """A fee owed by a rule of the rulebook."""

    rule = _one_of("By which rule", [])
    amount = forms.DecimalField(
        label="Amount in dollars",
        max_digits=9,
        decimal_places=2,
        error_messages={"invalid": "This is no amount. Write 45.00.", "required": "How much?"},
    )
    why = text_field("What for", required=True)
    on = day_field("Owed since")
    form_key = forms.CharField(max_length=40, widget=forms.HiddenInput)
    widths = {"why": "full", "amount": "quarter"}

    def __init__(self, *args: Any, rules: list[Provision], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rule"].choices = [  # type: ignore[attr-defined]
            (rule.id, rule.words[:100]) for rule in rules
        ]


class SettleForm(PlainForm):
    """What became of a fee."""

    state = _one_of("It was", [(s.value, s.value) for s in FeeState if s is not FeeState.OWED])
    on = day_field("On")
    words = text_field("Why, or how", longest=300, help_text="needed unless it was paid")
    optional_words = "if paid"


class EmergencyForm(PlainForm):
    """Which services, and what the danger is."""

    services = forms.ModelMultipleChoiceField(
        label="Services to shut",
        queryset=ServiceConnection.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    reason = text_field("What the danger is", longest=1000)
    widths = {"services": "full", "reason": "full"}
    optional_words = ""

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = premises.connections.order_by("kind", "name")
        self.fields["services"].queryset = rows  # type: ignore[attr-defined]


class FireDepartmentForm(PlainForm):
    """Where letters about fire lines go."""

    name = text_field("Name", required=True, longest=200)
    address = text_field("Street", required=True)
    city = text_field("City", required=True, longest=120)
    state = text_field("State", required=True, longest=2, help_text="two letters")
    zip = text_field("ZIP", required=True, longest=20)
    phone = text_field("Telephone", longest=60)
    widths = {"name": "full", "state": "quarter", "zip": "quarter"}
