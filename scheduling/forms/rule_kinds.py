"""One form for each kind of rule that a rulebook holds several of."""

from __future__ import annotations

from django import forms

from registry.domain.kinds import AssemblyType
from scheduling.domain.facts import EVENTS, FactKind, Hindrance
from scheduling.domain.rules import CountsAs, Regime, Topic
from scheduling.forms.plain import text_field
from scheduling.forms.rule_base import STEP_HELP, WIDE, Matched, rule_name
from scheduling.forms.rule_fields import (
    StepField,
    WordsField,
    one_of,
    several,
    tick,
    whole,
)

_TESTED = frozenset({FactKind.PASSED, FactKind.FAILED})


class CycleForm(Matched):
    """How often a kind of work comes round."""

    part = "cycle"
    widths = WIDE
    field_order = ["id", "kind", "regime", "every"]

    id = rule_name()
    kind = forms.ChoiceField(label="Kind of work")
    regime = one_of("Counted", Regime, help_text="from a pass, an anniversary, a season")
    every = StepField(label="Every", help_text=STEP_HELP)
    opens_days = whole("Opens, days before", required=False)
    early_days = whole("Window, days before", required=False, help_text="anniversary only")
    late_days = whole("Window, days after", required=False, help_text="anniversary only")
    cap = StepField(label="Never later than", required=False, help_text="after the last pass")
    month_end = tick("Due on the last day of that month")
    season_opens = text_field("Season opens", longest=5, help_text="month and day: 03-01")
    credit_from = text_field("A pass counts from", longest=5, help_text="month and day: 10-01")
    priority = whole("Priority", required=False, help_text="0: the order of the list")


class ExemptForm(Matched):
    """Of whom a kind of work is not asked."""

    part = "exempt"
    widths = WIDE
    field_order = ["id", "kind"]
    id = rule_name()
    kind = forms.ChoiceField(label="Kind of work")


class EventForm(Matched):
    """What an event asks for."""

    part = "event"
    widths = WIDE
    field_order = ["id", "event", "kind", "days"]
    id = rule_name()
    event = one_of("Event", [kind for kind in FactKind if kind in EVENTS])
    kind = forms.ChoiceField(label="Kind of work")
    days = whole("Within days")
    is_working = tick("Working days")
    idle_months = whole("Only after months out of use", required=False)


class DaysForm(Matched):
    """A number of days: to cure a failure, of grace, of transition."""

    widths = WIDE
    field_order = ["id", "days"]
    id = rule_name()
    days = whole("Days")
    is_working = tick("Working days")


class CureForm(DaysForm):
    """In how many days a failure is cured."""

    part = "cure"


class RepeatForm(Matched):
    """More often after repeat failures."""

    part = "repeat"
    widths = WIDE
    field_order = ["id", "kind", "failures", "of_last", "every"]
    id = rule_name()
    kind = forms.ChoiceField(label="Kind of work")
    failures = whole("Failures", least=1)
    of_last = whole("Of the last rounds", least=1)
    every = StepField(label="Then every", help_text=STEP_HELP)


class ReportForm(Matched):
    """How soon a report is in."""

    part = "report"
    widths = WIDE
    field_order = ["id", "days"]
    id = rule_name()
    days = whole("Within days")
    is_working = tick("Working days")
    about = several(
        "About",
        [kind for kind in FactKind if kind in EVENTS or kind in _TESTED],
        help_text="none ticked: every test",
    )


class HindranceForm(Matched):
    """What "could not be tested" counts as."""

    part = "hindrance"
    widths = {**WIDE, "hindrances": "full"}
    field_order = ["id", "hindrances", "counts_as"]
    id = rule_name()
    hindrances = several("Because of", Hindrance, help_text="none ticked: whatever the reason")
    counts_as = one_of("Counts as", CountsAs)


class ProtectionForm(Matched):
    """Which types protect well enough."""

    part = "protection"
    widths = {**WIDE, "allowed": "full"}
    field_order = ["id", "allowed"]
    id = rule_name()
    allowed = several("Protected by", AssemblyType)


class RatioForm(Matched):
    """The share to be tested in a calendar year."""

    part = "ratio"
    widths = WIDE
    field_order = ["id", "share", "chase_days"]
    id = rule_name()
    share = text_field("Share", required=True, longest=6, help_text="of the whole: 0.90")
    chase_days = whole("The rest pursued for days")


class ProvisionForm(Matched):
    """A rule in words."""

    part = "provision"
    widths = {**WIDE, "words": "full"}
    field_order = ["id", "topic", "words"]
    id = rule_name()
    topic = one_of("About", Topic)
    words = forms.CharField(label="Words", max_length=2000, widget=forms.Textarea({"rows": 4}))
    days = whole("Days", required=False)
    is_working = tick("Working days")
    by = WordsField(
        label="By",
        required=False,
        help_text="of second means; of a restoration: passed test, booked test; a promise: order",
    )
