"""What goes into each field of a form of the purveyor's own, by a mapping made once."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from reports.domain.entry_items import ITEMS
from reports.domain.own_form_fields import OUR_FIELDS, in_words
from reports.domain.report_columns import ReportField, recognise

MOST_BLANKS = 400


class BlankKind(StrEnum):
    """What a field of the form takes: text, a tick, one of several buttons, one of a list."""

    TEXT = "text"
    TICK = "tick"
    BUTTONS = "buttons"
    LIST = "list"


@dataclass(frozen=True, kw_only=True)
class FormBlank:
    """A field of the form: its name, what a reader is told of it, and its states or options."""

    name: str
    kind: BlankKind
    label: str = ""
    states: tuple[str, ...] = ()
    most: int | None = None

    def plain(self) -> dict[str, Any]:
        """The blank as JSON keeps it."""
        return {
            "name": self.name,
            "kind": self.kind.value,
            "label": self.label,
            "states": list(self.states),
            "most": self.most,
        }


def blank_of(plain: Mapping[str, Any]) -> FormBlank:
    """The blank that JSON keeps."""
    return FormBlank(
        name=str(plain["name"]),
        kind=BlankKind(plain["kind"]),
        label=str(plain.get("label", "")),
        states=tuple(str(one) for one in plain.get("states", ())),
        most=plain.get("most"),
    )


@dataclass(frozen=True, kw_only=True)
class Mapped:
    """Where a blank gets its content: from one of ours, or fixed words.

    `when` gives, for each state of a tick, a button or a list, the value of ours that sets it.
    """

    ours: str = ""
    fixed: str = ""
    when: Mapping[str, str]

    def plain(self) -> dict[str, Any]:
        """The mapping as JSON keeps it."""
        return {"ours": self.ours, "fixed": self.fixed, "when": dict(self.when)}


def mapped_of(plain: Mapping[str, Any] | None) -> Mapped:
    """The mapping that JSON keeps; nothing mapped where there is none."""
    told = plain or {}
    when = {str(state): str(value) for state, value in (told.get("when") or {}).items()}
    return Mapped(ours=str(told.get("ours", "")), fixed=str(told.get("fixed", "")), when=when)


def answer_for(
    blank: FormBlank, mapped: Mapped, values: Mapping[str, str], *, date_style: str
) -> str:
    """What goes into a blank: text, or the name of a state; blank where nothing does.

    A tick is its on-state where its value holds. A list without an agreed value takes the option
    that reads as ours does.
    """
    value = values.get(mapped.ours, "").strip()
    if blank.kind is BlankKind.TEXT:
        text = in_words(mapped.ours, value, date_style=date_style) if mapped.ours else ""
        return text or mapped.fixed
    if not mapped.ours:
        return mapped.fixed if mapped.fixed in blank.states else ""
    for state, wanted in mapped.when.items():
        if state in blank.states and wanted and wanted.casefold() == value.casefold():
            return state
    if blank.kind is BlankKind.LIST:
        said = {value.casefold(), in_words(mapped.ours, value, date_style=date_style).casefold()}
        return next((one for one in blank.states if one.casefold() in said - {""}), "")
    return ""


def guessed(blanks: Sequence[FormBlank]) -> dict[str, Mapped]:
    """A first mapping by the words of the form's own field names; a person looks at it."""
    found = {}
    for blank in blanks:
        ours = _ours_for(blank.name) or _ours_for(blank.label)
        if ours:
            found[blank.name] = Mapped(ours=ours, when=_when(blank, ours))
    return found


_OF_REPORT = {
    ReportField.TESTED_ON: "tested_on",
    ReportField.TESTED_AT: "tested_at",
    ReportField.CERTIFICATE: "certificate",
    ReportField.DECLARED: "outcome",
}


def _ours_for(words: str) -> str:
    spaced = re.sub(r"[_.\-\[\]/]+", " ", re.sub(r"([a-z])([A-Z])", r"\1 \2", words)).strip()
    if not spaced:
        return ""
    plain = "_".join(spaced.casefold().split())
    if plain in OUR_FIELDS:
        return plain
    by_label = {one.label.casefold(): one.name for one in OUR_FIELDS.values()}
    by_label |= {item.header.casefold(): item.name for item in ITEMS.values()}
    if spaced.casefold() in by_label:
        return by_label[spaced.casefold()]
    columns = recognise([spaced], saved={})
    for field in columns.fields:
        name = _OF_REPORT.get(field, field.value)
        return name if name in OUR_FIELDS else ""
    for part, readings in (("initial", columns.initial), ("final", columns.final)):
        for reading in readings:
            return f"{part}_{reading.value}"
    return ""


_ALIKE = (
    ("yes", ("yes", "y", "on", "true", "1", "tight", "closed tight", "holds")),
    ("no", ("no", "n", "off", "false", "0", "leaked", "leaks")),
    ("pass", ("pass", "passed", "p")),
    ("fail", ("fail", "failed", "f")),
)


def _when(blank: FormBlank, ours: str) -> dict[str, str]:
    values = [value for value, _ in OUR_FIELDS[ours].choices]
    found = {}
    for state in blank.states:
        said = state.casefold().strip("/ ")
        alike = [value for value, words in _ALIKE if said in words and value in values]
        same = [value for value, words in OUR_FIELDS[ours].choices if said in {value, words}]
        if alike or same:
            found[state] = (alike or same)[0]
    return found
