"""A form as its page prints it: every blank with its value, its fault and what came before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from reports.domain.entry_item import Item, Kind, Part
from reports.domain.entry_items import UNTESTED
from reports.domain.entry_readings import AskedReading
from reports.domain.entry_report import (
    FINAL,
    INITIAL,
    NEEDED_OF_PAPER,
    OTHER,
    FormAsked,
    FormFault,
)
from reports.queries.entry_forms import Before

MANY = 4


@dataclass(frozen=True, kw_only=True)
class Blank:
    """One item with its value and fault; `as_list` where its choices are too many for a box."""

    item: Item
    value: str
    fault: str

    @property
    def kind(self) -> str:
        """What the page draws."""
        if self.item.kind is Kind.CHOICE and len(self.item.choices) > MANY:
            return "list"
        return self.item.kind.value


@dataclass(frozen=True, kw_only=True)
class Box:
    """One reading of one part, with its value, fault and the last readings."""

    asked: AskedReading
    part: str
    value: str
    other_value: str
    fault: str
    before: Sequence[Before]

    @property
    def name(self) -> str:
        """The field's name."""
        return f"{self.part}_{self.asked.name.value}"

    @property
    def other_name(self) -> str:
        """The name of the answer that is no figure."""
        return self.name + OTHER


@dataclass(frozen=True, kw_only=True)
class FormShown:
    """A form ready to print."""

    asked: FormAsked
    values: Mapping[str, str]
    faults: Sequence[FormFault]
    before: Mapping[str, Sequence[Before]]

    def _blanks(self, part: Part) -> list[Blank]:
        return [self._blank(item) for item in self.asked.items if item.part is part]

    def _blank(self, item: Item) -> Blank:
        return Blank(item=item, value=self.values.get(item.name, ""), fault=self._fault(item.name))

    def _fault(self, name: str) -> str:
        return next((fault.message for fault in self.faults if fault.field == name), "")

    def _boxes(self, part: str) -> Iterator[Box]:
        for asked in self.asked.readings:
            name = f"{part}_{asked.name.value}"
            yield Box(
                asked=asked,
                part=part,
                value=self.values.get(name, ""),
                other_value=self.values.get(name + OTHER, ""),
                fault=self._fault(name),
                before=self.before.get(asked.name.value, ()) if part == INITIAL else (),
            )

    @property
    def place(self) -> list[Blank]:
        """Whose it is and where."""
        return self._blanks(Part.PLACE)

    @property
    def assembly(self) -> list[Blank]:
        """What it is and how it stands."""
        return self._blanks(Part.ASSEMBLY)

    @property
    def visit(self) -> list[Blank]:
        """Who tests, when, with what."""
        return self._blanks(Part.VISIT)

    @property
    def valves(self) -> list[Blank]:
        """What is asked as found before the readings."""
        last = {UNTESTED, "meter_moved"}
        return [one for one in self._blanks(Part.FOUND) if one.item.name not in last]

    @property
    def after_readings(self) -> list[Blank]:
        """What is asked as found after the readings."""
        return [one for one in self._blanks(Part.FOUND) if one.item.name == "meter_moved"]

    @property
    def untested(self) -> Blank:
        """Why it could not be tested."""
        (found,) = [one for one in self._blanks(Part.FOUND) if one.item.name == UNTESTED]
        return found

    @property
    def initial(self) -> list[Box]:
        """The readings as found."""
        return list(self._boxes(INITIAL))

    @property
    def final(self) -> list[Box]:
        """The readings after repair."""
        return list(self._boxes(FINAL))

    @property
    def repair(self) -> list[Blank]:
        """What was mended."""
        return self._blanks(Part.REPAIR)

    @property
    def closing(self) -> list[Blank]:
        """How the place was left."""
        return self._blanks(Part.CLOSING)

    @property
    def signature_fault(self) -> str:
        """What is amiss with the signature."""
        return self._fault("signed_name")

    @property
    def attested_fault(self) -> str:
        """What is amiss with the words signed under."""
        return self._fault("attested")

    @property
    def cautions_fault(self) -> str:
        """What is amiss with the cautions."""
        return self._fault("cautions_read")


def needed_plain(asked: FormAsked) -> list[list[str]]:
    """What a device must see filled before a form is handed in.

    Name, mend, and "always", or "tested" where it is spared if nothing could be tested; then the
    field and the value beside which alone it is asked, if any.
    """
    spared = {Part.FOUND, Part.CLOSING}
    return [
        [
            item.name,
            item.missing,
            "tested" if item.part in spared else "always",
            *(item.when or ()),
        ]
        for item in asked.items
        if item.missing and (not asked.is_keyed or item.name in NEEDED_OF_PAPER)
    ]
