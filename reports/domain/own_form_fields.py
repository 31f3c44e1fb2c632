"""Our fields that may go into a form of the purveyor's own: their names, words and answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from reports.domain.entry_item import Kind
from reports.domain.entry_items import ITEMS
from reports.domain.readings import ReadingName
from reports.domain.wording import label

DATE_STYLES: Mapping[str, str] = MappingProxyType(
    {
        "month/day/year": "11/25/2026",
        "day/month/year": "25/11/2026",
        "year-month-day": "2026-11-25",
        "in words": "Nov 25, 2026",
    }
)
"""How a form wants its dates: the name of each style, and an example."""

_WORDS = {"yes": "Yes", "no": "No"}
_PASSED = (("pass", "Passed"), ("fail", "Failed"))
_TIGHT = (("yes", "Tight"), ("no", "Leaked"))
_FULL = (("yes", "Fully"), ("no", "Not fully"))


@dataclass(frozen=True, kw_only=True)
class OurField:
    """One of our fields: what it is called, whether it is a date, and its answers in words."""

    name: str
    label: str
    is_date: bool = False
    choices: tuple[tuple[str, str], ...] = ()


def _extra() -> list[OurField]:
    named = {
        "account": "Account number",
        "city": "City",
        "state": "State",
        "zip": "ZIP",
        "type": "Type of the assembly",
        "hazard": "Degree of hazard",
        "service": "Service connection",
        "owner": "Owner",
        "owner_address": "Owner’s address",
        "firm": "Testing company",
        "method": "Method of the test",
        "signed_name": "Signed by",
        "receipt": "Receipt of the office",
    }
    found = [OurField(name=name, label=words) for name, words in named.items()]
    found.append(OurField(name="as_found", label="Result as found", choices=_PASSED))
    found.append(OurField(name="outcome", label="Result", choices=_PASSED))
    return found


def _readings() -> list[OurField]:
    found = []
    for part, words in (("initial", "as found"), ("final", "after repair")):
        for name in ReadingName:
            choices: tuple[tuple[str, str], ...] = ()
            if name.value.endswith("_tight"):
                choices = _TIGHT
            elif name in {ReadingName.AIR_INLET_FULL, ReadingName.METER_MOVED}:
                choices = _FULL if name is ReadingName.AIR_INLET_FULL else tuple(_WORDS.items())
            told = label(name.value)
            found.append(
                OurField(
                    name=f"{part}_{name.value}",
                    label=f"{told[:1].upper()}{told[1:]}, {words}",
                    choices=choices,
                )
            )
    return found


def _items() -> list[OurField]:
    return [
        OurField(
            name=item.name,
            label=item.label,
            is_date=item.kind is Kind.DATE,
            choices=tuple(one for one in item.choices if one[0]),
        )
        for item in ITEMS.values()
    ]


OUR_FIELDS: Mapping[str, OurField] = MappingProxyType(
    {one.name: one for one in (*_items(), *_extra(), *_readings())}
)
"""Every field of ours by its name."""


def in_words(name: str, value: str, *, date_style: str) -> str:
    """A value as a form prints it: a date in its style, an answer in words, else as it is.

    `in_words("tested_on", "2026-11-25", date_style="month/day/year")` is "11/25/2026".
    """
    ours = OUR_FIELDS.get(name)
    if ours is None or not value:
        return value
    if ours.is_date:
        return _day(value, style=date_style)
    return dict(ours.choices).get(value, value)


def _day(value: str, *, style: str) -> str:
    try:
        on = date.fromisoformat(value)
    except ValueError:
        return value
    if style == "month/day/year":
        return f"{on.month:02d}/{on.day:02d}/{on.year}"
    if style == "day/month/year":
        return f"{on.day:02d}/{on.month:02d}/{on.year}"
    return f"{on:%b} {on.day}, {on.year}" if style == "in words" else on.isoformat()
