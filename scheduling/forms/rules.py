"""The form of each table of a rulebook: what it says goes into the draft's table of that name."""

from __future__ import annotations

from typing import Final

from scheduling.forms.rule_base import RuleForm
from scheduling.forms.rule_kinds import (
    CureForm,
    CycleForm,
    EventForm,
    ExemptForm,
    HindranceForm,
    ProtectionForm,
    ProvisionForm,
    RatioForm,
    RepeatForm,
    ReportForm,
)
from scheduling.forms.rule_tables import (
    CredentialsForm,
    GraceForm,
    KindForm,
    MethodForm,
    NoDateForm,
    RungForm,
    TransitionForm,
)

FORMS: Final[dict[str, type[RuleForm]]] = {
    form.part: form
    for form in (
        *(KindForm, ExemptForm, CycleForm, RepeatForm, EventForm, CureForm, HindranceForm),
        *(ReportForm, ProtectionForm, RatioForm, ProvisionForm, RungForm),
        *(GraceForm, NoDateForm, TransitionForm, MethodForm, CredentialsForm),
    )
}
"""The form of each table of a rulebook."""

NAMES: Final = {
    "kind": "kind of work",
    "exempt": "exemption",
    "cycle": "rule of how often",
    "repeat": "rule after repeat failures",
    "event": "rule after an event",
    "cure": "time to cure a failure",
    "hindrance": "rule of what could not be tested",
    "report": "time for reports",
    "protection": "rule of what protects",
    "ratio": "share to be tested in a year",
    "provision": "rule in words",
    "rung": "rung of the ladder",
    "grace": "days of grace",
    "no_date": "days where no date is known",
    "transition": "days of transition",
    "method": "method of judging",
    "credentials": "gauges and testers",
}
"""What pages call each kind of rule."""
