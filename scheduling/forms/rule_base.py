"""What every form of a rule shares: its cells, whom it catches, and where it comes from."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from django import forms

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.rules import TEST
from scheduling.forms.plain import PlainForm, day_field, text_field
from scheduling.forms.rule_fields import (
    EitherField,
    WordsField,
    marks,
    several,
)

_KEY_IN_FAULT: Final = re.compile(r": (\w+)(?: =|:| must| is missing| \()")
STEP_HELP: Final = "6 months, 1 year, 3 years; a season: May 31"


class RuleForm(PlainForm):
    """A rule's cells; empty ones are left out of the table."""

    part = ""
    optional_words = "if any"

    def __init__(self, *args: Any, kinds: Sequence[str] = ("test",), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields.get("kind")
        if isinstance(field, forms.ChoiceField):
            field.choices = [(kind, kind) for kind in kinds]

    @classmethod
    def initial_of(cls, cells: Mapping[str, Any]) -> dict[str, Any]:
        """Return a table's cells as the form shows them."""
        return {"kind": TEST, **cells}

    def cells(self) -> dict[str, Any]:
        """Return what the form says as a table; what is left empty is not in it."""
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if (value not in (None, "", [], ()) and value is not False) or self._is_told_no(name)
        }

    def _is_told_no(self, name: str) -> bool:
        return isinstance(self.fields[name], EitherField) and self.cleaned_data[name] is False

    def tell(self, faults: Sequence[str]) -> None:
        """Put each fault at the field it names, else above the form."""
        for fault in faults:
            found = _KEY_IN_FAULT.search(fault)
            name = found[1] if found and found[1] in self.fields else None
            self.add_error(name, fault)


def rule_name() -> forms.CharField:
    """The name a rule is known by in its rulebook."""
    return text_field(
        "Name of the rule", required=True, longest=80, help_text="its own; e.g. half-yearly"
    )


class Cited(RuleForm):
    """What every rule says of its source."""

    citation = text_field("Citation", required=True, longest=500)
    number = text_field("Number in the law", longest=60)
    transcribed = day_field("Transcribed on", required=False)
    mark = marks()


class Matched(Cited):
    """Whom a rule catches; nothing chosen catches every one."""

    types = several("Types", AssemblyType, help_text="none ticked: every type")
    hazards = several("Hazard", (Hazard.HIGH, Hazard.LOW), help_text="not assessed counts as high")
    services = several("Service", ServiceKind)
    protects = several("Protects by", Protects)
    uses = WordsField(label="Uses of the premises", required=False, help_text="with commas between")
    residential = EitherField(label="Residential", yes="residential", no="not residential")
    chemicals = EitherField(label="Chemicals in the line", yes="with", no="without")
    detector = EitherField(label="Detector", yes="with a detector", no="without one")
    part_year = EitherField(label="In use", yes="part of the year", no="all year")


MATCH: Final = (
    *("types", "hazards", "services", "protects", "uses"),
    *("residential", "chemicals", "detector", "part_year"),
)
SOURCE: Final = ("citation", "number", "transcribed", "mark")
WIDE: Final = {"types": "full", "services": "full", "uses": "full", "citation": "full"}
