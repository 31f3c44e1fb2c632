"""What two people read from one paper, held against each other field by field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from reports.domain.entry_report import ATTESTED, CAUTIONS, label_of

TYPE, ASSEMBLY = "type", "assembly"
_OF_NO_PAPER = frozenset({CAUTIONS, ATTESTED})
_FIGURE = re.compile(r"(?:0|[1-9][0-9]{0,2})(?:[.,][0-9]{1,6})?")
"""A figure a gauge may show; a serial of many figures is compared as it is written."""
_OWN_LABELS = {TYPE: "Type of the assembly", ASSEMBLY: "Which assembly"}


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One field that two people read otherwise."""

    field: str
    label: str
    first: str
    second: str


def differences(
    first: Mapping[str, str], second: Mapping[str, str], *, order: tuple[str, ...] = ()
) -> list[Difference]:
    """The fields in which two keyings differ, in `order` and then by name.

    Blanks, case and the way a figure is written make no difference: "2.40" is "2.4", and
    "t-1006" is "T-1006".
    """
    names = {*first, *second} - _OF_NO_PAPER
    place = {name: number for number, name in enumerate(order)}
    return [
        Difference(
            field=name,
            label=_OWN_LABELS.get(name) or label_of(name),
            first=first.get(name, ""),
            second=second.get(name, ""),
        )
        for name in sorted(names, key=lambda one: (place.get(one, len(place)), one))
        if _plain(first.get(name, "")) != _plain(second.get(name, ""))
    ]


def _plain(text: str) -> str:
    words = " ".join(text.split()).casefold()
    if not _FIGURE.fullmatch(words):
        return words
    return f"{Decimal(words.replace(',', '.')).normalize():f}"
