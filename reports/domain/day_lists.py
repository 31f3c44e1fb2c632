"""Days as a person lists them: "December 24, 2026; December 25, 2026", in words or in figures."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Final

_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_DAY: Final = re.compile(
    r"\s*(?:(\d{4})-(\d{1,2})-(\d{1,2})|([A-Za-z]{3,9})\.?\s+(\d{1,2})\s*,?\s*(\d{4}))\s*(?:[,;\s]|$)"
)


class NoDayError(ValueError):
    """A piece of the list names no day; the message is that piece."""


def days_in(text: str) -> list[date]:
    """The days of a list, each once, earliest first; months by name or three letters, or ISO.

    Raises NoDayError at the first piece that is none.
    """
    left, found = text.replace("\xa0", " ").strip(" ,;\r\n\t"), set()
    while left:
        piece = _DAY.match(left)
        if piece is None:
            raise NoDayError(re.split(r"[;\n]", left)[0].strip()[:40])
        year, month, day, name, of_month, of_year = piece.groups()
        try:
            if name is None:
                found.add(date(int(year), int(month), int(day)))
            else:
                found.add(date(int(of_year), _month(name), int(of_month)))
        except ValueError as error:
            raise NoDayError(piece[0].strip(" ,;")) from error
        left = left[piece.end() :].lstrip(" ,;\r\n\t")
    return sorted(found)


def days_said(days: Iterable[date]) -> str:
    """The list again, as `days_in` reads it."""
    return "; ".join(f"{_MONTHS[on.month - 1].title()} {on.day}, {on.year}" for on in days)


def _month(name: str) -> int:
    for number, month in enumerate(_MONTHS, start=1):
        if month.startswith(name.lower()):
            return number
    raise ValueError(name)
