"""Forms of a decision: who is meant, what is decided, and how it ends."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from registry.domain.kinds import ServiceKind
from scheduling.domain.decisions import Decision
from scheduling.domain.facts import FactKind
from scheduling.forms.plain import PlainForm, day_field, text_field
from scheduling.queries.groups import BOTH, PLACES, TESTS, Wanted

DECIDED = (
    (FactKind.EXTENDED, "the due day is extended"),
    (FactKind.HELD, "held: no letter leaves and nobody becomes overdue"),
    (FactKind.STOPPED, "the clock of letters is stopped: undeliverable, or an objection"),
    (FactKind.IDLED, "out of use (idle), or the premises is vacant"),
    (FactKind.EXEMPTED, "exempted: nothing is asked"),
)
"""What may be decided for one assembly or a group."""

_OF = (
    (BOTH, "assemblies, surveys and protection"),
    (TESTS, "assemblies only"),
    (PLACES, "surveys and protection only"),
)
_ANY = "any"
MOST_SERIALS = 500


class GroupForm(PlainForm):
    """Who is meant: what is filled in must all hold.

    `asks_places`: whether the rulebook asks anything of premises or services; else there is
    nothing to choose.
    """

    optional_words = ""
    widths = {"everybody": "full", "serials": "full"}

    street = text_field("Address with", longest=120, help_text="e.g. Elm Street")
    city = text_field("City", longest=120)
    owner = text_field("Owner or customer with", longest=120)
    use = text_field("Use", longest=120)
    service = forms.ChoiceField(
        label="Service",
        required=False,
        choices=[(_ANY, "any"), *((one.value, one.value or "not recorded") for one in ServiceKind)],
    )
    serials = forms.CharField(
        label="Serials",
        required=False,
        max_length=20_000,
        help_text="one a line, or with commas between",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    of = forms.ChoiceField(
        label="What of them",
        required=False,
        choices=_OF,
        help_text="by a service: no surveys, for a survey is of the whole premises",
    )
    everybody = forms.BooleanField(label="Every assembly of the program", required=False)

    def __init__(self, *args: Any, asks_places: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if asks_places:
            self.fields["everybody"].label = "The whole program"
        else:
            del self.fields["of"]

    def clean_serials(self) -> tuple[str, ...]:
        """The serials, each once."""
        found = re.split(r"[,;\n\r]+", self.cleaned_data["serials"])
        serials = tuple(dict.fromkeys(one.strip() for one in found if one.strip()))
        if len(serials) > MOST_SERIALS:
            raise forms.ValidationError(f"At most {MOST_SERIALS} serials at once.")
        return serials

    def clean(self) -> dict[str, Any]:
        """Somebody must be meant; everybody is said alone."""
        told = super().clean() or self.cleaned_data
        if self.errors:
            return told
        wanted = self.wanted
        if wanted.is_empty:
            raise forms.ValidationError("Say who is meant: fill in at least one of these.")
        others = (wanted.street, wanted.city, wanted.owner, wanted.use, wanted.serials)
        if wanted.everybody and (any(others) or wanted.service is not None):
            self.add_error("everybody", "Either everybody, or what is filled in: choose one.")
        if wanted.serials and wanted.of == PLACES:
            self.add_error("serials", "Serials name assemblies: leave them out, or take these too.")
        return told

    @property
    def wanted(self) -> Wanted:
        """Who is meant, of a form that was read."""
        told = self.cleaned_data
        service = told.get("service", _ANY)
        return Wanted(
            street=told.get("street", "").strip(),
            city=told.get("city", "").strip(),
            owner=told.get("owner", "").strip(),
            use=told.get("use", "").strip(),
            service=None if service in (_ANY, None) else service,
            serials=told.get("serials", ()),
            everybody=bool(told.get("everybody")),
            of=(told.get("of") or BOTH) if "of" in self.fields else TESTS,
        )


class DecisionForm(PlainForm):
    """What is decided, from when, until when, why, and who approved it."""

    optional_words = "if any"
    widths = {"kind": "full", "reason": "full"}

    kind = forms.ChoiceField(label="What is decided", choices=[(k.value, w) for k, w in DECIDED])
    on = day_field("From")
    until = day_field(
        "Until",
        required=False,
        help_text="new due day, or last day of a hold; idle or exempt: the day to look again",
    )
    name = text_field("Name of the group", longest=200, help_text="e.g. Elm Street under repair")
    approved_by = text_field("Approved by", required=True, longest=150)
    reason = text_field("Reason", required=True, longest=500, help_text="kept with the decision")

    def decision(self, members: tuple[str, ...]) -> Decision:
        """The decision of a form that holds."""
        told = self.cleaned_data
        return Decision(
            kind=FactKind(told["kind"]),
            on=told["on"],
            until=told["until"] if FactKind(told["kind"]) is not FactKind.STOPPED else None,
            reason=told["reason"],
            approved_by=told["approved_by"],
            group=told["name"],
            members=members,
        )


class EndForm(PlainForm):
    """The day a decision ends, and why."""

    widths = {"reason": "full"}

    on = day_field("It ends on")
    reason = text_field("Why", required=True, longest=500)


class ReviewForm(PlainForm):
    """The next day to look again."""

    widths = {"reason": "full"}

    until = day_field("Look again on")
    reason = text_field("What was found", required=True, longest=500)
