"""Letters printed together: their order, the groups a printer can handle, numbers typed back in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

MOST_LETTERS = 500
"""In one run. A file a printer takes and a person can check; more letters are more runs."""

_TRACKING = re.compile(r"[0-9A-Z]{8,34}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Enclosed:
    """A letter to be printed: what its place in the run depends on."""

    delivery_id: int
    number: str
    pages: int
    zip: str = ""
    street: str = ""

    @property
    def sheets(self) -> int:
        """Sheets of paper it takes, printed on both sides; every letter starts on a front."""
        return sheets_of(self.pages)


@dataclass(frozen=True, slots=True, kw_only=True)
class PageGroup:
    """Letters of as many pages each, by their places: what an inserting machine is set for."""

    pages: int
    first: int
    last: int

    @property
    def letters(self) -> int:
        """How many they are."""
        return self.last - self.first + 1

    @property
    def sheets(self) -> int:
        """Sheets of one such letter."""
        return sheets_of(self.pages)


def sheets_of(pages: int) -> int:
    """Return the sheets that so many pages take, printed on both sides: 3 pages take 2."""
    return (pages + 1) // 2


def in_printing_order(letters: Iterable[Enclosed]) -> list[Enclosed]:
    """Return letters of as many pages together, each group by ZIP, street and number."""
    return sorted(letters, key=lambda one: (one.pages, one.zip, one.street, one.number))


def groups_of(pages: Sequence[int]) -> list[PageGroup]:
    """Return the groups of letters in their places, counted from 1."""
    groups: list[PageGroup] = []
    place = 1
    for count, found in groupby(pages):
        letters = len(list(found))
        groups.append(PageGroup(pages=count, first=place, last=place + letters - 1))
        place += letters
    return groups


def tracking_number(text: str) -> str:
    """Return a certified number without blanks and hyphens, or nothing when it cannot be one.

    Letters and figures, 8 to 34: numbers of the posts of several countries fit.
    """
    found = re.sub(r"[\s\-]", "", text).upper()
    return found if _TRACKING.fullmatch(found) else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberLine:
    """One line typed or scanned: the place in the run, or the letter's number, and the tracking."""

    row: int
    place: int | None
    letter: str
    tracking: str
    fault: str = ""


def read_numbers(text: str, *, first_place: int = 1) -> list[NumberLine]:
    """Read certified numbers, one a line: alone, in the order of the run, or after their letter.

    `9407…` is the next letter's; `26-0105-0007 9407…` or `7, 9407…` names it. A blank line
    leaves a letter out. Blanks within a number do not matter.
    """
    lines: list[NumberLine] = []
    place = first_place
    for row, line in enumerate(text.splitlines(), 1):
        name, number = _parted(line.strip())
        at = int(name) if name.isdigit() else None if name else place
        if number:
            tracking = tracking_number(number)
            lines.append(
                NumberLine(
                    row=row,
                    place=at,
                    letter="" if name.isdigit() else name,
                    tracking=tracking,
                    fault="" if tracking else f"{number[:60]!r} is no tracking number.",
                )
            )
        place = (at or place) + 1
    return lines


def _parted(line: str) -> tuple[str, str]:
    """The letter a line names, by its place or number, or nothing; and the rest."""
    named = re.match(r"(\d{1,5}\s*[,;\t]|\d\d-\d{4}-\d{4,}[\s,;])", line)
    if named is None:
        return "", line
    return named[0].strip(" ,;\t"), line[named.end() :].strip(" ,;\t")
