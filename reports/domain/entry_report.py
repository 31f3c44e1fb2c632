"""From the fields of a form to a report: the same cells a sheet would carry, and what is amiss."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from registry.domain.kinds import AssemblyType
from reports.domain.entry_item import Item, Kind, Part
from reports.domain.entry_items import ITEMS, UNTESTED, items_for
from reports.domain.entry_readings import AskedReading
from reports.domain.readings import CellError, read_cell

INITIAL, FINAL = "initial", "final"
OTHER = "_other"
SIGNATURE = "signed_name"
ATTESTED = "attested"
CAUTIONS = "cautions_read"
NEEDED_OF_PAPER = frozenset({"serial", "tested_on"})
"""Without these a report cannot be read at all, whatever it was written on."""


@dataclass(frozen=True, kw_only=True)
class FormFault:
    """What is amiss with one field, and what to do."""

    field: str
    label: str
    message: str


@dataclass(frozen=True, kw_only=True)
class FormAsked:
    """A form as it is put before a person: the type, its items and readings.

    With `is_keyed` a clerk keys it from a paper: what the paper does not say may stay blank, and
    the clerk signs nothing.
    """

    assembly_type: AssemblyType
    is_known: bool
    readings: tuple[AskedReading, ...]
    is_keyed: bool = False

    @property
    def items(self) -> tuple[Item, ...]:
        """The items besides the readings."""
        return items_for(self.assembly_type, is_known=self.is_known)


def reading_text(fields: Mapping[str, str], *, part: str, asked: AskedReading) -> str:
    """What a form says of a reading: the other answer where it was pressed, else the box."""
    name = f"{part}_{asked.name.value}"
    other = fields.get(name + OTHER, "").strip()
    return other or fields.get(name, "").strip()


def cells_of(form: FormAsked, fields: Mapping[str, str]) -> dict[str, str]:
    """The report's cells by header, in the form's order; every item has its cell."""
    cells = {item.header: fields.get(item.name, "").strip() for item in form.items}
    cells["Type"] = form.assembly_type.value
    if not form.is_known:
        cells.setdefault("Service address", "")
    for part in (INITIAL, FINAL):
        for asked in form.readings:
            cells[asked.header(part)] = reading_text(fields, part=part, asked=asked)
    cells["Signed by"] = fields.get(SIGNATURE, "").strip()
    return cells


def form_faults(form: FormAsked, fields: Mapping[str, str]) -> list[FormFault]:
    """Everything that keeps a form from being handed in, in the form's order.

    Each says what to mend; what a gauge cannot show is told as `judge` tells it.
    """
    found = []
    if not form.is_keyed and not fields.get(CAUTIONS):
        found.append(_fault(CAUTIONS, "Cautions", "Read the cautions of this site, then tick it."))
    untested = bool(fields.get(UNTESTED, "").strip())
    for item in form.items:
        found += _item_faults(item, fields, form=form, untested=untested)
    for part in (INITIAL, FINAL):
        for asked in form.readings:
            found += _reading_faults(asked, fields, part=part)
    return found if form.is_keyed else [*found, *_signature_faults(fields)]


def unsaid(form: FormAsked, fields: Mapping[str, str]) -> list[str]:
    """What a keyed paper does not say of all that a report must carry, item by item."""
    asked = replace(form, is_keyed=False)
    untested = bool(fields.get(UNTESTED, "").strip())
    found = [
        item.label
        for item in asked.items
        if not fields.get(item.name, "").strip()
        and _item_faults(item, fields, form=asked, untested=untested)
    ]
    return found if fields.get(SIGNATURE, "").strip() else [*found, "Signature"]


def _signature_faults(fields: Mapping[str, str]) -> list[FormFault]:
    found = []
    if not fields.get(SIGNATURE, "").strip():
        found.append(_fault(SIGNATURE, "Signature", "Type your full name, or draw it."))
    if not fields.get(ATTESTED):
        message = "Read what you sign, then tick it; an unsigned report does not count."
        found.append(_fault(ATTESTED, "What you sign", message))
    return found


def label_of(name: str) -> str:
    """What a field of the form is called: "Initial relief", or the item's own words."""
    item = ITEMS.get(name)
    if item is not None:
        return item.label
    return name.removesuffix(OTHER).replace("_", " ").capitalize()


def _item_faults(
    item: Item, fields: Mapping[str, str], *, form: FormAsked, untested: bool
) -> list[FormFault]:
    value = fields.get(item.name, "").strip()
    if not value:
        is_spared = untested and item.part in {Part.FOUND, Part.CLOSING}
        is_spared = is_spared or (form.is_keyed and item.name not in NEEDED_OF_PAPER)
        is_beside = item.when is None or fields.get(item.when[0]) == item.when[1]
        asked = item.missing and is_beside and not is_spared
        return [_fault(item.name, item.label, item.missing)] if asked else []
    if item.kind is Kind.CHOICE and value not in {one for one, _ in item.choices}:
        known = ", ".join(words for _, words in item.choices)
        return [_fault(item.name, item.label, f"“{value}” is none of: {known}.")]
    if len(value) > item.most:
        message = f"It has {len(value)} characters; write at most {item.most}."
        return [_fault(item.name, item.label, message)]
    return []


def _reading_faults(
    asked: AskedReading, fields: Mapping[str, str], *, part: str
) -> list[FormFault]:
    text = reading_text(fields, part=part, asked=asked)
    try:
        read_cell(name=asked.name, column=asked.label, text=text)
    except CellError as error:
        words = f"“{text}” {error.message}."
        return [_fault(f"{part}_{asked.name.value}", asked.label, words)]
    return []


def _fault(field: str, label: str, message: str) -> FormFault:
    return FormFault(field=field, label=label, message=message)
