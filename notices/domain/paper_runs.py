"""Letters printed together: their order, the groups a printer can handle, numbers come back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

MOST_LETTERS = 500
"""In one run. A file a printer takes and a person can check; more letters are more runs."""

_TRACKING = re.compile(r"[0-9A-Z]{8,34}")
_BEHIND_A_ZIP = re.compile(r"420(?:\d{9}|\d{5})(9\d{21}|9\d{25})")
_CHECKED = re.compile(r"9\d{21}|9\d{25}")
_ROUNDED = re.compile(r"\d[.,]\d+E\+\d+|\d{15}0{4,}", re.IGNORECASE)
"""What a spreadsheet makes of a long number: it keeps fifteen figures."""


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

    Letters and figures, 8 to 34: numbers of the posts of several countries fit. A scanner reads
    420 and the ZIP before a number of 22 or 26 figures (USPS Publication 199): they come off.
    """
    found = re.sub(r"[\s\-()\x1d]", "", text).upper()
    scanned = _BEHIND_A_ZIP.fullmatch(found)
    found = scanned[1] if scanned else found
    return found if _TRACKING.fullmatch(found) else ""


def is_miswritten(tracking: str) -> bool:
    """Whether a number of 22 or 26 figures that begins with 9 ends on another check digit.

    Weighted MOD 10 (USPS Publication 109, 2-8; the same as GS1's): from the right, every second
    figure counts three times. Numbers of other forms are never in doubt.
    """
    if not _CHECKED.fullmatch(tracking):
        return False
    figures = [int(one) for one in reversed(tracking)]
    return (sum(figures[0::2]) + 3 * sum(figures[1::2])) % 10 != 0


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
            letter = "" if name.isdigit() else name
            lines.append(_line(number, row=row, place=at, letter=letter))
        place = (at or place) + 1
    return lines


_LETTER = ("letter", "letter number")
_NUMBER = ("certified number", "tracking number", "article number", "certified", "tracking")


def is_number_list(headers: Iterable[str]) -> bool:
    """Whether a sheet with these heads says which number each letter of a run has."""
    heads = {head.strip().casefold() for head in headers}
    return bool(heads.intersection(_NUMBER) and heads.intersection((*_LETTER, "place")))


def numbers_of(rows: Iterable[tuple[int, Mapping[str, str]]]) -> list[NumberLine]:
    """Read certified numbers from the rows of a run's own list, filled in and sent back.

    The letter's number tells the letter, else its place; a row without a number is left out.
    """
    lines: list[NumberLine] = []
    for row, cells in rows:
        by_head = {head.strip().casefold(): cell.strip() for head, cell in cells.items()}
        number = next((by_head[head] for head in _NUMBER if by_head.get(head)), "")
        letter = next((by_head[head] for head in _LETTER if by_head.get(head)), "")
        place = by_head.get("place", "")
        if number:
            at = int(place) if place.isascii() and place.isdigit() and len(place) < 7 else 0
            lines.append(_line(number, row=row, place=at, letter=letter))
    return lines


def _line(number: str, *, row: int, place: int | None, letter: str) -> NumberLine:
    tracking = tracking_number(number)
    fault = "" if tracking else f"{number[:60]!r} is no tracking number."
    if _ROUNDED.fullmatch(number):
        tracking = ""
        fault = f"A spreadsheet has rounded {number[:60]}: make that column text, and fill it anew."
    return NumberLine(row=row, place=place, letter=letter, tracking=tracking, fault=fault)


def _parted(line: str) -> tuple[str, str]:
    """The letter a line names, by its place or number, or nothing; and the rest."""
    named = re.match(r"(\d{1,5}\s*[,;\t]|\d\d-\d{4}-\d{4,}[\s,;])", line)
    if named is None:
        return "", line
    return named[0].strip(" ,;\t"), line[named.end() :].strip(" ,;\t")
